// A cabinet's figures as the values of a form, and those values as a definition or errors that say the mend.
import { definedFigures } from "../air/cabinet.js";
import { purgeOf } from "../air/purge-figures.js";

/** @typedef {{ us: boolean, volume: string, flow: string, mixing: string, posted: string }} CabinetTyped */

/** The units of a cabinet's figures, as the definition and the screen have them. @param {boolean} us */
export const cabinetUnits = (us) => (us ? { volume: { unit: "ft3", said: "ft³" }, flow: { unit: "cfm", said: "cfm" } } : { volume: { unit: "m3", said: "m³" }, flow: { unit: "m3/h", said: "m³/h" } });

/** @param {any} cabinet of the definition, or nothing @param {boolean} us the shop's units @param {Partial<CabinetTyped>} [begun] figures that a phone kept for itself before @returns {CabinetTyped} */
export function cabinetValues(cabinet, us, begun = {}) {
  const defined = definedFigures(cabinet);
  return defined ? { us: defined.us, ...defined.typed } : { us, volume: "", flow: "", mixing: "3", posted: "", ...begun };
}

/** All of it, the posted time alone, or nothing. @param {CabinetTyped} [typed] a draft of an older app has none @returns {{ errors: Record<string, string | null>, body: any }} */
export function readCabinet(typed) {
  if (!typed) return { errors: {}, body: {} };
  const { us, ...figures } = typed;
  if (![typed.volume, typed.flow, typed.posted].some((one) => one.trim())) return { errors: {}, body: {} };
  const found = purgeOf({ ...figures, removed: "99.9" }, us);
  const errors = Object.fromEntries(Object.entries(found.errors).map(([name, error]) => [`cabinet_${name}`, error]));
  if (Object.values(errors).some(Boolean)) return { errors, body: {} };
  const { volume, flow } = cabinetUnits(us);
  const number = (/** @type {string} */ text) => Number(text.trim().replace(",", "."));
  const sized = typed.volume.trim() ? { volume: { value: number(typed.volume), unit: volume.unit }, exhaust: { value: number(typed.flow), unit: flow.unit } } : {};
  return { errors, body: { cabinet: { ...sized, mixing: number(typed.mixing), ...(typed.posted.trim() ? { posted: Math.ceil(number(typed.posted)) } : {}) } } };
}
