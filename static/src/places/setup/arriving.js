// Coming into a shop: the session changes in the midst of it, and no other place may flash up meanwhile.
import { signal } from "@preact/signals";
import { go } from "../../kit/go.js";

/** True while this browser is on its way in. */
export const arriving = signal(false);

/** Do what lets this browser in, then go to a place. @param {string} path @param {() => Promise<void>} work */
export async function arrive(path, work) {
  arriving.value = true;
  try {
    await work();
    go(path, { replace: true });
  } finally {
    // The address is followed a moment later.
    setTimeout(() => { arriving.value = false; }, 50);
  }
}
