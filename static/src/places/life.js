// How long a wearing part has lived, by its meter.

/**
 * Null when no meter counts it or no change of it is recorded.
 * @param {{ id: string, meter?: string | null }} part
 * @param {import("../store/types.js").Definition} machine
 * @param {import("../core/fold.js").Doc} doc
 */
export function lifeOf(part, machine, doc) {
  const fitted = doc.parts[part.id];
  const meter = machine.meters.find((/** @type {any} */ one) => one.kind === part.meter);
  if (!meter || !fitted?.at) return null;
  const lived = (doc.meters[meter.id]?.total ?? 0) - (fitted.meters[meter.id] ?? 0);
  const past = fitted.lives.map((/** @type {any} */ life) => life.meters[meter.id]).filter((/** @type {any} */ v) => typeof v === "number");
  return { lived, past, unit: String(meter.unit), at: String(fitted.at) };
}
