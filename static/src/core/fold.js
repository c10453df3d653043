// The fold: what a machine, or the shop, is after an entry. Twin of webapp/records (state.py, kinds/): the Python is
// the truth, both are held to tests/vectors/fold.json. Change neither alone.

/**
 * @typedef {{ total: number, base: number, face: number | null, face_at: string | null, at: string | null, backwards: number }} Meter
 * @typedef {{ meters: Record<string, Meter>, tags: Record<string, any>, findings: Record<string, any>,
 *   raised: Record<string, any>, rounds: Record<string, any>, checks: Record<string, Record<string, any[]>>,
 *   readings: Record<string, any[]>, parts: Record<string, any>, fluids: Record<string, any>,
 *   tasks: Record<string, any>, stock: Record<string, { count: number, at: string | null }>,
 *   settled: Record<string, true>, used_at: string | null, back_at: string | null, last_at: string | null,
 *   hazards?: Record<string, any>, exposures?: Record<string, any[]>, commissioned?: Record<string, any>, purge?: any,
 *   chips?: Record<string, any>, people?: Record<string, any>, orders?: Record<string, any[]> }} Doc  the sections that may be missing are made when first needed
 * @typedef {{ id: string, kind: string, machine: string | null, by: string, at: string, body: any }} Effective
 *   An entry as the fold sees it: amended body, `at` corrected, in UTC with ms and Z.
 */

const READINGS_KEPT = 12;
const ANSWERS_KEPT = 3;
const LIVES_KEPT = 20;
const ORDERS_KEPT = 20;
const MEASURED_KEPT = 12;
// Noted of what was fitted, so they belong to the life that begins; `material` to the one that ends.
const FITTED_NOTES = ["grade", "edge", "tool", "stick_out"];

/** A machine (or the shop) of which nothing is known yet. @returns {Doc} */
export function emptyDoc() {
  return {
    meters: {}, tags: {}, findings: {}, raised: {}, rounds: {}, checks: {}, readings: {}, parts: {}, fluids: {},
    tasks: {}, stock: {}, settled: {}, used_at: null, back_at: null, last_at: null,
  };
}

/** Round half up to 6 places: the same bits as the Python. @param {number} value */
export const r6 = (value) => Math.floor(value * 1e6 + 0.5) / 1e6;

/** @param {Doc} doc @param {string} id @returns {Meter} */
const meterOf = (doc, id) => (doc.meters[id] ??= { total: 0, base: 0, face: null, face_at: null, at: null, backwards: 0 });

/** @param {Doc} doc @returns {Record<string, number>} */
const totals = (doc) => Object.fromEntries(Object.entries(doc.meters).map(([id, meter]) => [id, meter.total]));

/** @param {any[]} rows @param {any} row @param {number} keep */
function newestFirst(rows, row, keep) {
  rows.unshift(row);
  rows.length = Math.min(rows.length, keep);
}

/** @param {Doc} doc @param {string} id @param {number} amount @param {string} at */
function addToMeter(doc, id, amount, at) {
  const meter = meterOf(doc, id);
  meter.total = r6(meter.total + amount);
  meter.at = at;
  doc.used_at = at;
}

/** A counter's face rules over what was added since its last reading. @param {Doc} doc @param {Effective} entry */
function readMeter(doc, { at, body }) {
  const { meter: id, value, replaced = false } = body;
  const meter = meterOf(doc, id);
  const { face } = meter;
  if (face !== null && !replaced && value < face) {
    meter.backwards += 1;
    return;
  }
  if (face === null && !replaced && value >= meter.total) meter.base = value;
  else if (face === null || replaced) meter.base = meter.total;
  else meter.base = r6(meter.base + value - face);
  Object.assign(meter, { total: meter.base, face: value, face_at: at, at });
}

/** @param {Doc} doc @param {string} quantity @param {any} row */
const keepReading = (doc, quantity, row) => newestFirst((doc.readings[quantity] ??= []), row, READINGS_KEPT);

/** @typedef {"tags" | "findings" | "hazards"} Openable */

/** Remember a closing that came, in time, before its opening. @param {Doc} doc @param {Openable} section @param {string} id */
function close(doc, section, id) {
  const open = doc[section];
  if (open && id in open) delete open[id];
  else doc.settled[id] = true;
}

/** @param {Doc} doc @param {Openable} section @param {string} id @param {any} value */
function openUnlessSettled(doc, section, id, value) {
  if (doc.settled[id]) delete doc.settled[id];
  else (doc[section] ??= {})[id] = value;
}

/** @param {Doc} doc @param {Effective} entry */
function roundDone(doc, { id, by, at, body }) {
  const stopped = Object.keys(doc.tags).length > 0 || Object.values(doc.findings).some((finding) => finding.stop);
  doc.rounds[body.checklist] = {
    at, by, entry: id, form: body.form, outcome: body.outcome,
    fit: body.form === "start-up" ? body.outcome === "fit" && !stopped : null,
    not_ok: body.checks.filter((/** @type {any} */ check) => check.answer === "not ok").length,
    seconds: body.seconds, revision: body.revision, meters: totals(doc),
  };
  const answers = (doc.checks[body.checklist] ??= {});
  for (const check of body.checks) {
    const { value = null, unit = null } = check;
    newestFirst((answers[check.check] ??= []), { at, answer: check.answer, value, unit }, ANSWERS_KEPT);
    if (check.quantity && value !== null) keepReading(doc, check.quantity, { at, value, unit, by });
  }
}

/** @param {Doc} doc @param {Effective} entry */
function partChanged(doc, { by, at, body }) {
  const now = totals(doc);
  const fitted = (doc.parts[body.part] ??= { lives: [] });
  if ("at" in fitted) {
    const lived = Object.fromEntries(Object.entries(now).map(([id, total]) => [id, r6(total - (fitted.meters[id] ?? 0))]));
    const life = { from: fitted.at, to: at, reason: body.reason, meters: lived, ...(body.material ? { material: body.material } : {}) };
    for (const key of ["minutes", ...FITTED_NOTES].filter((one) => one in fitted)) {
      Object.assign(life, { [key]: fitted[key] });
      delete fitted[key];
    }
    newestFirst(fitted.lives, life, LIVES_KEPT);
  }
  Object.assign(fitted, { at, by, meters: now });
  for (const key of FITTED_NOTES) if (body[key]) fitted[key] = body[key];
}

/**
 * Count a batch's cut minutes on to its cutters, from their last change; `sign` -1 takes them back off.
 * @param {Doc} doc @param {any} body @param {number} [sign]
 */
export function addCutMinutes(doc, body, sign = 1) {
  for (const [part, minutes] of Object.entries(body.cutters ?? {})) {
    const fitted = doc.parts[part];
    if (fitted) fitted.minutes = r6((fitted.minutes ?? 0) + sign * r6(minutes * body.loads));
  }
}

/** @param {Doc} doc @param {string} id */
const fluidOf = (doc, id) => (doc.fluids[id] ??= { changed_at: null, changed_meters: {}, added_at: null, added: 0 });

/** @param {Doc} doc @param {Effective} entry */
function taskDone(doc, { by, at, body }) {
  if (body.task in doc.raised) delete doc.raised[body.task];
  else doc.tasks[body.task] = { at, by, meters: totals(doc), deferred: null };
}

/** @param {any} body @param {string[]} names @returns {Record<string, any>} those fields, null where they are not given */
const pick = (body, names) => Object.fromEntries(names.map((name) => [name, body[name] ?? null]));

/** @param {Doc} doc @param {Effective} entry */
function hazardNoted(doc, { id, at, by, body }) {
  openUnlessSettled(doc, "hazards", id, {
    at, by, process: body.process, ...pick(body, ["alloy", "medium", "minutes", "text", "risk"]),
    controls: body.controls ?? [], seen: body.seen ?? [], exposed: body.exposed ?? [],
    near_miss: body.near_miss || false, first_aid: body.first_aid || false, ...(body.photo ? { photo: body.photo } : {}),
  });
}

const MEASURED = ["fraction", "person", "place", "shift_hours", "on", "method", "laboratory", "process", "alloy"];

/** @param {Doc} doc @param {Effective} entry */
function exposureMeasured(doc, { id, at, by, machine, body }) {
  const samples = body.samples.map((/** @type {any} */ one) => (
    { minutes: one.minutes, value: one.value, unit: one.unit, below_detection: one.below_detection || false }));
  const key = body.agent === "noise" ? "noise" : `${body.agent}/${body.form}`;
  newestFirst(((doc.exposures ??= {})[key] ??= []), { entry: id, at, by, machine, ...pick(body, MEASURED), samples }, MEASURED_KEPT);
}

/** Under which quantity a check of the air is kept: the one that rounds read too. @type {Record<string, string>} */
const AIR_QUANTITIES = {
  "face velocity": "air.face_velocity", "capture velocity": "hood.velocity", "duct velocity": "duct.velocity",
  "static pressure": "duct.static_pressure", "filter drop": "filter.pressure_drop", flow: "air.flow",
};

/** @param {any} body */
export const airQuantity = (body) => `${AIR_QUANTITIES[body.check]}${body.place ? `/${body.place}` : ""}`;

/** @param {Doc} doc @param {Effective} entry */
function airChecked(doc, { at, by, body }) {
  const quantity = airQuantity(body);
  const row = { at, value: body.value, unit: body.unit, by };
  keepReading(doc, quantity, row);
  if (body.commissioning) (doc.commissioned ??= {})[quantity] = { ...row };
}

/** @type {Record<string, number>} */
export const KILOGRAMS = { kg: 1, lb: 0.45359237 };

/** @param {Doc} doc @param {Effective} entry */
function chipsCollected(doc, { at, body }) {
  const row = ((doc.chips ??= {})[body.alloy] ??= { at: null, scrap: 0, waste: 0, dust: 0 });
  const weight = body.weight * KILOGRAMS[body.unit];
  row[body.to] = r6(row[body.to] + weight);
  if (body.dust) row.dust = r6(row.dust + weight);
  row.at = at;
}

/** What has come is taken off the oldest order first; more than was ordered is in the count alone. @param {Doc} doc @param {string} item @param {number} arrived */
function deliver(doc, item, arrived) {
  const orders = doc.orders?.[item] ?? [];
  while (arrived > 0 && orders.length > 0) {
    const taken = Math.min(arrived, orders[0].count);
    arrived = r6(arrived - taken);
    orders[0].count = r6(orders[0].count - taken);
    if (orders[0].count === 0) orders.shift();
  }
  if (orders.length === 0) delete doc.orders?.[item];
}

/** @param {Doc} doc @param {string} id */
const personOf = (doc, id) => ((doc.people ??= {})[id] ??= { ppe: {}, fits: {}, machines: {}, topics: {} });

/** @param {Doc} doc @param {Effective} entry */
function ppeChecked(doc, { at, by, body }) {
  const key = body.what ? `${body.kind}/${body.what}` : body.kind;
  const row = (personOf(doc, body.person).ppe[key] ??= { since: null, hours: 0, last_hours: null, change_after: null, change_by: null });
  Object.assign(row, { at, by, result: body.result, note: body.note ?? null, hours: r6(row.hours + (body.hours ?? 0)) });
  // The hours named with a new one were worn on the old one.
  if (body.result === "replaced" || body.result === "issued") {
    Object.assign(row, { last_hours: row.hours || null, hours: 0, since: at, change_after: null, change_by: null });
  }
  for (const name of ["change_after", "change_by"]) row[name] = body[name] ?? row[name];
}

/** @param {Doc} doc @param {Effective} entry */
function trainingSigned(doc, { at, by, body }) {
  const row = { at, by, ...pick(body, ["topic", "trainer", "outside", "expires"]) };
  if (body.machine) personOf(doc, body.person).machines[body.machine] = row;
  else personOf(doc, body.person).topics[body.topic] = row;
}

/** @type {Record<string, (doc: Doc, entry: Effective) => void>} */
const FOLDS = {
  "meter.read": (doc, entry) => {
    const before = meterOf(doc, entry.body.meter).total;
    readMeter(doc, entry);
    // A machine that counts itself says that it just ran; a person's reading may be of last week's hours.
    if (entry.body.ran && meterOf(doc, entry.body.meter).total > before) doc.used_at = entry.at;
  },
  "meter.added": (doc, { at, body }) => addToMeter(doc, body.meter, body.amount, at),
  "batch.run": (doc, { at, body }) => {
    for (const id of Object.keys(body.adds).sort()) addToMeter(doc, id, body.adds[id], at);
    addCutMinutes(doc, body);
  },
  "reading.taken": (doc, { at, by, body }) => keepReading(doc, body.quantity, { at, value: body.value, unit: body.unit, by }),
  "round.done": roundDone,
  "part.changed": partChanged,
  "fluid.added": (doc, { at, body }) => {
    const fluid = fluidOf(doc, body.fluid);
    Object.assign(fluid, { added: r6(fluid.added + body.amount), added_at: at });
  },
  "fluid.changed": (doc, { at, body }) => {
    Object.assign(fluidOf(doc, body.fluid), { changed_at: at, changed_meters: totals(doc), added: 0 });
  },
  "task.done": taskDone,
  "task.deferred": (doc, { at, by, body }) => {
    const task = (doc.tasks[body.task] ??= { at: null, by: null, meters: {}, deferred: null });
    task.deferred = { to: body.to, why: body.why, at, by };
  },
  "task.raised": (doc, { id, at, by, body }) => {
    // Done may come, in time, before raised: then taskDone has kept it as a plain task.
    if (id in doc.tasks) delete doc.tasks[id];
    else doc.raised[id] = { at, by, title: body.title, finding: body.finding ?? null, minutes: body.minutes ?? null };
  },
  "finding.opened": (doc, { id, at, by, body }) => openUnlessSettled(doc, "findings", id,
    { at, by, text: body.text, stop: body.stop, check: body.check ?? null, round: body.round ?? null }),
  "finding.closed": (doc, { body }) => close(doc, "findings", body.finding),
  "tag.on": (doc, { id, at, by, body }) => openUnlessSettled(doc, "tags", id, { at, by, why: body.why, finding: body.finding ?? null }),
  "tag.off": (doc, { at, body }) => {
    close(doc, "tags", body.tag);
    doc.back_at = at;
  },
  "stock.counted": (doc, { at, body }) => {
    doc.stock[body.item] = { count: body.count, at };
    deliver(doc, body.item, body.arrived ?? 0);
  },
  "stock.ordered": (doc, { at, by, body }) => {
    const orders = ((doc.orders ??= {})[body.item] ??= []);
    orders.push({ at, by, count: body.count, expected: body.expected ?? null });
    orders.splice(0, orders.length - ORDERS_KEPT);
  },
  "hazard.noted": hazardNoted,
  "hazard.closed": (doc, { body }) => close(doc, "hazards", body.hazard),
  "exposure.measured": exposureMeasured,
  "air.checked": airChecked,
  "purge.run": (doc, { at, by, body }) => {
    doc.purge = { at, by, seconds: body.seconds, needed: body.needed };
  },
  "chips.collected": chipsCollected,
  "ppe.checked": ppeChecked,
  "fit.tested": (doc, { at, by, body }) => {
    personOf(doc, body.person).fits[body.respirator] = { at, by, ...pick(body, ["make_note", "method", "factor", "result", "expires"]) };
  },
  "training.signed": trainingSigned,
};

/** What is the shop's, whatever machine it was made at. */
const OF_SHOP = new Set(["stock.counted", "stock.ordered", "exposure.measured", "chips.collected", "ppe.checked", "fit.tested", "training.signed"]);

/** What the shop's document takes from an entry made at a machine. @type {Record<string, (doc: Doc, entry: Effective) => void>} */
const SHOP_FOLDS = {
  "part.changed": (doc, { body }) => {
    if (!body.item) return;
    const drawer = (doc.stock[body.item] ??= { count: 0, at: null });
    drawer.count = r6(drawer.count - (body.used ?? 1));
  },
  ...Object.fromEntries([...OF_SHOP].map((kind) => [kind, FOLDS[kind]])),
};

/**
 * The documents that an entry folds into: "shop" or "machine:<id>".
 * @param {{ kind: string, machine: string | null }} entry
 */
export function subjectsOf({ kind, machine }) {
  if (machine === null || OF_SHOP.has(kind)) return ["shop"];
  return kind === "part.changed" ? [`machine:${machine}`, "shop"] : [`machine:${machine}`];
}

/**
 * Fold one entry into a document, in place. Kinds this app does not know change nothing but `last_at`.
 * @param {Doc} doc @param {Effective} entry @param {string} [subject]
 */
export function fold(doc, entry, subject = subjectsOf(entry)[0]) {
  const folds = subject === "shop" && entry.machine !== null ? SHOP_FOLDS : FOLDS;
  folds[entry.kind]?.(doc, entry);
  doc.last_at = entry.at;
  return doc;
}
