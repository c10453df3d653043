// The cautions by key, from the one file that the server reads too: they are on the phone without signal.
import text from "../../../webapp/library/cautions.toml" with { type: "text" };
import { html } from "htm/preact";
import { Caution } from "./caution.js";

/** @typedef {{ key: string, signal: import("./caution.js").Signal, hazard: string, title: string, text: string, source: string }} CautionText */

/**
 * That file is plain: tables of one level, each a run of `name = "text"` lines.
 * @param {string} toml
 * @returns {Map<string, CautionText>}
 */
function read(toml) {
  const found = new Map();
  let current = /** @type {any} */ (null);
  for (const line of toml.split(/\r?\n/)) {
    const table = /^\[([a-z_]+)\]$/.exec(line);
    const pair = /^([a-z_]+) = (".*")$/.exec(line);
    if (table) {
      current = { key: table[1] };
      found.set(table[1], current);
    } else if (pair && current) {
      current[pair[1]] = JSON.parse(pair[2]);
    }
  }
  return found;
}

const CAUTIONS = read(text);

/** The cautions there are, for set-up to choose from. @returns {CautionText[]} */
export const allCautions = () => [...CAUTIONS.values()];

/**
 * Panels for keys, each once; a key that is not known is said as it stands rather than left out.
 * @param {{ keys: (string | null | undefined)[] }} props
 */
export function Cautions({ keys }) {
  const wanted = [...new Set(keys.filter((key) => typeof key === "string" && key !== ""))];
  return wanted.map((key) => {
    const known = CAUTIONS.get(/** @type {string} */ (key));
    return html`<${Caution} key=${key} signal=${known?.signal ?? "caution"} title=${known?.title} hazard=${known?.hazard}
      text=${known?.text ?? `${key}.`} />`;
  });
}
