// What a top-up starts from: the last reading and the level as the server reckoned it, where both still hold. Pure.
import { readingFor } from "../../core/mix.js";
import { tidy } from "../../core/numbers.js";
import { sayWhen } from "../../kit/dates.js";
import { figure } from "../../kit/numbers.js";
import { quantityOf } from "../standing.js";

/** @typedef {import("../../core/fold.js").Doc} Doc */
/** @typedef {{ level: string, reading: string, levelNote: string, readingNote: string }} Begin `level` in the fluid's unit; empty where nothing can be taken over */
/** @typedef {{ now: Date, zone: string }} Clock */

/** How long a reading speaks for the sump: yesterday morning's still does (as webapp/upkeep/fluid_losses.py has it). */
const SPEAKS_MS = 36 * 3_600_000;

/** A reading as strength in %, from % or from Brix. @param {any} fluid @param {{ value: number, unit?: string }} row */
export function percentIn(fluid, { value, unit = "%" }) {
  return /^(brix|°?bx)$/i.test(unit) ? tidy(value * (fluid.factor ?? 1)) : value;
}

/** When anything was filled in or changed last, by this phone's own state. @param {any} fluid @param {Doc} doc */
const touchedAt = (fluid, doc) => Math.max(...[doc.fluids[fluid.id]?.added_at, doc.fluids[fluid.id]?.changed_at].map((at) => (at ? Date.parse(at) : -Infinity)));

/**
 * @param {any} fluid @param {Doc} doc this phone's own state of the machine @param {any} found the fluid's document, or null
 * @param {string | null} asOf when that was worked out @param {Clock} clock @returns {Begin}
 */
export function beginOf(fluid, doc, found, asOf, { now, zone }) {
  const touched = touchedAt(fluid, doc);
  const when = (/** @type {string} */ at) => sayWhen(at, { zone, now });
  return { ...readingOf(fluid, doc, touched, found, now, when), ...levelOf(fluid, found, asOf, touched, now, when) };
}

/** @param {any} fluid @param {Doc} doc @param {number} touched @param {any} found @param {Date} now @param {(at: string) => string} when */
function readingOf(fluid, doc, touched, found, now, when) {
  const last = doc.readings[quantityOf(fluid)]?.[0];
  if (!last || typeof last.value !== "number") return { reading: "", readingNote: "Not read before." };
  const percent = percentIn(fluid, /** @type {any} */ (last));
  const said = `${figure(percent, 1)} % read ${when(last.at)}`;
  if (Date.parse(last.at) < touched) return { reading: "", readingNote: `${said}, and something was filled in since: read it again.` };
  const doubted = found?.strength?.doubtful && Date.parse(found.strength.at) === Date.parse(last.at);
  if (doubted) return { reading: "", readingNote: `${said}, with the instrument off on water: set it to 0 and read again.` };
  if (now.getTime() - Date.parse(last.at) > SPEAKS_MS) return { reading: "", readingNote: `Last ${said}: read it again.` };
  return { reading: String(tidy(readingFor(percent, fluid.factor ?? 1), 4)), readingNote: `As read ${when(last.at)}; it is not logged again. Type over it to log a new one.` };
}

/** @param {any} fluid @param {any} found @param {string | null} asOf @param {number} touched @param {Date} now @param {(at: string) => string} when */
function levelOf(fluid, found, asOf, touched, now, when) {
  const level = found?.level;
  if (!level || !asOf) return { level: "", levelNote: "" };
  if (touched > Date.parse(asOf)) return { level: "", levelNote: "Something was filled in since the level was reckoned: read it." };
  if (now.getTime() - Date.parse(asOf) > SPEAKS_MS) return { level: "", levelNote: `The level was last reckoned ${when(asOf)}: read it.` };
  const spread = level.low < level.high ? `: ${figure(level.low)} to ${figure(level.high)} ${fluid.unit}` : "";
  const how = level.basis === "read" ? "As read" : "Reckoned from the last fill and the usual loss";
  return { level: String(tidy(Math.min(level.volume, fluid.capacity), 2)), levelNote: `${how}${spread}, as of ${when(level.basis === "read" ? level.at : asOf)}. Read it to be sure.` };
}
