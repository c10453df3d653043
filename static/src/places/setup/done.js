// What was done last in set-up, to be said on the page that follows.
import { signal } from "@preact/signals";

export const done = signal(/** @type {string | null} */ (null));
