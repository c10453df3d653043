// The first moments of a page: the server is being asked and has not answered yet, which is not "no signal".
import { signal } from "@preact/signals";

const MOMENT_MS = 1_500;

/** True until the server has had a fair chance to answer. */
export const early = signal(true);
setTimeout(() => { early.value = false; }, MOMENT_MS);
