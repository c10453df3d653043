// What is half written in a set-up form survives a reload and an update, with the revision it was begun from.
import { useEffect, useRef, useState } from "preact/hooks";
import { dropDraft, loadDraft, saveDraft } from "../../store/index.js";
import { same } from "./clash.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ base: Definition | null, values: any }} Kept */

/** @param {string} on @param {string} id a definition's, or "new" */
const keyOf = (on, id) => `setup/${on}/${id}`;

/**
 * The draft of a form, undefined until it is known and null when there is none; and what throws it away.
 * @param {string} on @param {string} id
 */
export function useDraft(on, id) {
  const [kept, setKept] = useState(/** @type {Kept | null | undefined} */ (undefined));
  useEffect(() => {
    // Storage that does not answer is said by the carry line; the form works without a draft.
    loadDraft(keyOf(on, id)).then((found) => setKept(found ?? null), () => setKept(null));
  }, [on, id]);
  const drop = () => {
    dropDraft(keyOf(on, id)).catch(() => {});
    setKept(null);
  };
  return { kept, drop };
}

/**
 * Keep what is typed while it differs from what the form began with. Returns what ends it: nothing is kept after.
 * @param {string} on @param {Definition | null} base @param {any} values @param {any} start
 */
export function useKeeping(on, base, values, start) {
  const over = useRef(false);
  const begun = useRef(false);
  const key = keyOf(on, base?.id ?? "new");
  useEffect(() => {
    if (over.current) return;
    const changed = !same(values, start);
    if (changed) saveDraft(key, { base, values }).catch(() => {});
    else if (begun.current) dropDraft(key).catch(() => {});
    begun.current ||= changed;
  }, [JSON.stringify(values)]);
  return () => {
    over.current = true;
    return dropDraft(key).catch(() => {});
  };
}
