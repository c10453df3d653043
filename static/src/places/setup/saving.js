// Keeping a definition: the edit names the revision it was made from; a clash is shown, never overwritten.
import { useState } from "preact/hooks";
import { ask, Problem, syncNow } from "../../store/index.js";
import { useAsking } from "./waiting.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ mine: Record<string, any>, now: Definition, base: Definition, retired: boolean }} Met an edit that met a newer revision */

/** @param {string} type @param {Definition | null} base @param {Record<string, any>} body @param {boolean} retired @returns {Promise<Definition>} */
export async function put(type, base, body, retired = base?.retired ?? false) {
  const row = base
    ? await ask("PUT", `/definitions/${type}/${base.id}`, { ...body, retired }, { etag: `"${base.revision}"` })
    : await ask("POST", `/definitions/${type}`, body);
  await syncNow(); // so that what is shown next is what was kept
  return row;
}

/**
 * @param {string} type
 * @param {Definition | null} base as it was when the form was opened; null makes a new one
 * @param {Record<string, [string, string]>} fields the server's path -> [the form's field, its label]
 * @param {(errors: Record<string, string | null>) => void} setErrors
 * @param {(row: Definition) => void} onKept
 */
export function useSaving(type, base, fields, setErrors, onKept) {
  const [met, setMet] = useState(/** @type {Met | null} */ (null));
  const { problem, setProblem, asking } = useAsking(fields, setErrors);
  /** @param {Record<string, any>} body @param {{ retired?: boolean, over?: Definition }} [how] `over`: the newer revision, after a clash */
  const save = (body, { retired, over } = {}) => asking(async () => {
    const from = over ?? base;
    try {
      onKept(await put(type, from, body, retired));
    } catch (error) {
      if (!from || !(error instanceof Problem) || error.status !== 412 || !error.now) throw error;
      setMet({ mine: body, now: error.now, base: from, retired: retired ?? from.retired });
    }
  });
  return { met, setMet, problem, setProblem, save };
}
