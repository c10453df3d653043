// A blast cabinet: which machine is one, and the figures that its definition has for the purge timer. Pure.

/** Machines whose door is opened after blasting. @param {{ starter?: string | null, cautions?: string[] | null, [key: string]: any }} machine */
export const isCabinet = (machine) => machine.starter === "blast_cabinet" || (machine.cautions ?? []).includes("open_cabinet");

/**
 * The figures as they are typed, and whether they are in US units; null where none are defined.
 * @param {{ volume?: { value: number, unit: string }, exhaust?: { value: number, unit: string }, mixing: number, posted?: number } | null | undefined} cabinet
 */
export function definedFigures(cabinet) {
  if (!cabinet) return null;
  const text = (/** @type {number | undefined} */ value) => (value === undefined ? "" : String(value));
  return { us: cabinet.volume?.unit !== "m3", typed: { volume: text(cabinet.volume?.value), flow: text(cabinet.exhaust?.value), mixing: text(cabinet.mixing), posted: text(cabinet.posted) } };
}
