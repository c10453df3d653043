// What set-up's forms hold: definitions there and back unchanged, and errors that name the field and the mend.
import assert from "node:assert/strict";
import test from "node:test";
import { bandValues, readBand } from "../src/places/setup/bands.js";
import { checklistValues, checkValues, newCheck, readCheck, readChecklist } from "../src/places/setup/check-values.js";
import { same } from "../src/places/setup/clash.js";
import { byField, sentence } from "../src/places/setup/faults.js";
import { itemValues, readItem } from "../src/places/setup/item-values.js";
import { alloyValues, readAlloy } from "../src/places/setup/alloy-values.js";
import { machineValues, readMachine, usualMeter } from "../src/places/setup/machine-values.js";
import { errorKey, memberErrors, memberFields, moved } from "../src/places/setup/member-keys.js";
import { newBayName, newBays, nextName } from "../src/places/setup/standing-names.js";
import { countedBy, readSteps, readTask, SHOP, taskValues } from "../src/places/setup/task-values.js";

/** Errors that are there. @param {Record<string, string | null>} errors */
const wrong = (errors) => Object.entries(errors).filter(([, error]) => error).map(([field]) => field).sort();

test("a band goes through the form unchanged; no limit at all is no band", () => {
  const band = { stop_low: 4.8, act_low: 5.5, target: 6.2, act_high: 6.9 };
  assert.deepEqual(readBand(bandValues(band)), { band, errors: { stop_low: null, act_low: null, target: null, act_high: null, stop_high: null } });
  assert.equal(readBand(bandValues(null)).band, null);
  assert.deepEqual(readBand(bandValues({ target: 0, act_high: 0.025 })).band, { target: 0, act_high: 0.025 });
});

// The server's rule (webapp/core/bands.py): limits rise; a stop may lie on its act limit and the target on either.
test("limits that do not rise are named, those that may meet are let be", () => {
  assert.deepEqual(wrong(readBand(bandValues({ act_low: 6, act_high: 6 })).errors), ["act_high"]);
  assert.deepEqual(wrong(readBand(bandValues({ stop_low: 7, act_low: 6 })).errors), ["act_low"]);
  assert.deepEqual(readBand(bandValues({ stop_low: 6, act_low: 6, target: 6 })).errors.target, "Target (6) does not lie above stop below (6). The limits rise from stop below to stop above.");
  assert.deepEqual(wrong(readBand(bandValues({ stop_low: 6, act_low: 6, target: 7, act_high: 9, stop_high: 9 })).errors), []);
  assert.match(String(readBand({ ...bandValues(null), target: "six" }).errors.target), /digits only/);
});

const READING = { id: "c1", text: "Read the air gauge", how: "At the regulator.", why: "Low air drops a tool.", source: "common practice, no source", answer: "reading", stop: true,
  quantity: "air.pressure", unit: "psi", band: { stop_low: 70, act_low: 80, target: 90, act_high: 100 }, factor: 1.5 };
const CHOICE = { id: "c2", text: "Read the dip slide", how: "", why: "Bacteria.", source: "the shop's own", answer: "choice", stop: false, quantity: "coolant.dip_slide", photo: true,
  caution: "coolant_skin", choices: [{ text: "Below 10 000 per ml", ok: true }, { text: "More", ok: false }] };
const PLAIN = { id: "c3", text: "Shut the door", how: "Pull on it.", why: "It holds chips.", source: "29 CFR 1910.212(a)(1)", answer: "ok", stop: true };

test("each kind of check goes through the form unchanged", () => {
  for (const check of [READING, CHOICE, PLAIN]) {
    const { body, errors } = readCheck(checkValues(check));
    assert.deepEqual(wrong(errors), []);
    assert.ok(same(body, check), check.text);
  }
});

test("what belongs to another kind of answer is not kept", () => {
  const { body } = readCheck({ ...checkValues(READING), answer: "ok" });
  assert.deepEqual(Object.keys(body).sort(), ["answer", "how", "id", "source", "stop", "text", "why"]);
});

test("a check that is not whole says what is missing", () => {
  assert.deepEqual(wrong(readCheck(newCheck("n")).errors), ["text", "why"]);
  assert.deepEqual(wrong(readCheck({ ...checkValues(READING), unit: "", target: "60" }).errors), ["target", "unit"]);
  const choices = (/** @type {any[]} */ list) => String(readCheck({ ...checkValues(CHOICE), choices: list }).errors.choices);
  assert.match(choices([{ text: "Clear", ok: true }]), /at least two/);
  assert.match(choices([{ text: "Clear", ok: false }, { text: "Foul", ok: false }]), /No choice is ok/);
  assert.match(choices([{ text: "Clear", ok: true }, { text: "clear ", ok: false }]), /read the same/);
});

test("a checklist names the check that is wrong", () => {
  const list = { machine: "m", name: "Mill start-up", form: "start-up", checks: [READING, PLAIN] };
  assert.ok(same(readChecklist(checklistValues(list)).body, list));
  const bad = readChecklist({ ...checklistValues(list), name: " ", checks: [checkValues(READING), { ...checkValues(PLAIN), why: "" }] });
  assert.deepEqual(wrong(bad.errors), ["checks/c3/why", "name"]);
  assert.deepEqual(wrong(readChecklist(checklistValues(null)).errors), ["checks", "machine", "name"]);
});

const MACHINE = {
  name: "CNC mill", family: "mill", bay: "b1", maker: "Own", notes: "By the door.", cautions: ["rotating_spindle"], meters: [{ id: "m1", kind: "spindle_hours", name: "Spindle hours", unit: "h" }],
  parts: [{ id: "p1", kind: "belt", name: "Spindle belt", meter: "spindle_hours", item: "i1" }, { id: "p2", kind: "window", name: "Door window", meter: null, item: null }],
  fluids: [{ id: "f1", kind: "coolant", name: "Coolant", capacity: 40, unit: "gal", band: { act_low: 6, target: 8, act_high: 10 }, factor: 1, quantity: "coolant.strength",
    target: 7.5, sump: { shape: "flat", length: 48, width: 24, unit: "in" }, jug: 0.25, hardness: { value: 12, unit: "gpg" } },
  { id: "f2", kind: "way_oil", name: "Way oil", capacity: 0.5, unit: "gal", grade: 68 },
  { id: "f3", kind: "coolant", name: "Saw coolant", capacity: 5, unit: "gal", sump: { table: [[2, 1], [6, 5]], unit: "in" } }],
};

test("a sump with half its size and a mark below nought are named", () => {
  const values = machineValues(MACHINE);
  Object.assign(values.fluids[0], { sump_width: "", jug: "-1", water: "hard" });
  assert.deepEqual(wrong(readMachine(values).errors), ["fluids/f1/jug", "fluids/f1/sump_width", "fluids/f1/water"]);
});

test("a dip table is typed a line a depth; what is no table is named, what is emptied goes", () => {
  const typed = (/** @type {any} */ more) => {
    const values = machineValues(MACHINE);
    Object.assign(values.fluids[2], more);
    return readMachine(values);
  };
  assert.equal(machineValues(MACHINE).fluids[2].sump_table, "2  1\n6  5");
  assert.deepEqual(typed({ sump_table: " 1.5  0.5\n\n3: 2,5\n6 = 5 " }).body.fluids[2].sump, { table: [[1.5, 0.5], [3, 2.5], [6, 5]], unit: "in" });
  for (const bad of ["2 1", "2 1\n6", "2 1\n2 5", "2 1\n6 one", "6 5\n2 1"]) assert.deepEqual(wrong(typed({ sump_table: bad }).errors), ["fluids/f3/sump_table"], bad);
  assert.ok(!("sump" in typed({ sump_table: " " }).body.fluids[2]));
  assert.deepEqual(typed({ sump_by: "flat", sump_length: "20", sump_width: "10" }).body.fluids[2].sump, { shape: "flat", length: 20, width: 10, unit: "in" });
  assert.deepEqual(typed({ aim: "9" }).body.fluids[2].target, 9);
  assert.deepEqual(wrong(typed({ aim: "0" }).errors), ["fluids/f3/aim"]);
  const older = { sump_by: undefined, sump_table: { table: [[2, 1], [6, 5]], unit: "in" }, sump_unit: "in", aim: undefined, kept: { target: 7 } };
  assert.deepEqual([typed(older).body.fluids[2].sump, typed(older).body.fluids[2].target], [MACHINE.fluids[2]?.sump, 7], "a draft of an older app");
});

test("a machine goes through the form unchanged; what is emptied goes", () => {
  const values = machineValues(MACHINE);
  assert.ok(same(readMachine(values).body, MACHINE));
  const { body } = readMachine({ ...values, maker: "", bay: "" });
  assert.ok(!("maker" in body));
  assert.equal(body.bay, null);
});

test("a part's grade and costs and the control that counts go through unchanged; the last is whole or not there", () => {
  const feed = { kind: "mtconnect", url: "http://192.168.1.20:5000", data_item: "cut_time", meter: "m1" };
  const parts = [{ ...MACHINE.parts[0], grade: "10/14", planned_cost: 42.5, unplanned_cost: 300 }];
  const machine = { ...MACHINE, parts, feed };
  assert.ok(same(readMachine(machineValues(machine)).body, machine));
  const values = machineValues(machine);
  assert.deepEqual(wrong(readMachine({ ...values, feed: { url: "", data_item: "x", meter: "" } }).errors), ["feed_meter", "feed_url"]);
  assert.ok(!("feed" in readMachine({ ...values, feed: { url: "", data_item: "", meter: "" } }).body));
  values.parts[0].planned = "0";
  assert.deepEqual(wrong(readMachine(values).errors), ["parts/p1/planned"]);
});

test("an item goes through the form unchanged; its days and price may be left out", () => {
  const item = { name: "Blade 1/2 in", kind: "blade", unit: "piece", reorder_at: 0, machine: "m", lead_days: 5, cost: 38.5 };
  assert.ok(same(readItem(itemValues(item)).body, item));
  assert.deepEqual(Object.keys(readItem({ ...itemValues(item), lead: "", cost: " " }).body).sort(), ["kind", "machine", "name", "reorder_at", "unit"]);
  assert.deepEqual(wrong(readItem({ ...itemValues(null), reorder: "", lead: "0" }).errors), ["kind", "lead", "name", "reorder"]);
});

test("a cabinet's figures go through unchanged, in the units they are in; half of them are refused", () => {
  const cabinet = { volume: { value: 0.34, unit: "m3" }, exhaust: { value: 170, unit: "m3/h" }, mixing: 3, posted: 120 };
  const machine = { ...MACHINE, family: "cabinet", cabinet };
  assert.ok(same(readMachine(machineValues(machine, { us: true })).body, machine));
  const posted = { ...MACHINE, cabinet: { mixing: 3, posted: 90 } };
  assert.ok(same(readMachine(machineValues(posted)).body, posted));
  const values = machineValues(machine);
  assert.deepEqual(wrong(readMachine({ ...values, cabinet: { ...values.cabinet, flow: "" } }).errors), ["cabinet_flow"]);
  assert.deepEqual(wrong(readMachine({ ...values, cabinet: { ...values.cabinet, mixing: "11", posted: "99999" } }).errors), ["cabinet_mixing", "cabinet_posted"]);
  assert.ok(!("cabinet" in readMachine({ ...values, cabinet: { ...values.cabinet, volume: "", flow: "", posted: "" } }).body), "what was emptied goes");
  const begun = machineValues(MACHINE, { us: true, cabinet: { volume: "12", flow: "100" } });
  assert.deepEqual(readMachine(begun).body.cabinet, { volume: { value: 12, unit: "ft3" }, exhaust: { value: 100, unit: "cfm" }, mixing: 3 });
  assert.ok(!("cabinet" in readMachine(/** @type {any} */ ({ ...values, cabinet: undefined })).body), "a draft of an older app");
});

test("an alloy of the shop's own goes through the form unchanged; what cannot be is named by its field", () => {
  const alloy = { name: "Brass rod", uns: "C36000", base: "Cu", like: "C36000", composition: [{ element: "Cu", percent: 61.3 }, { element: "Zn", percent: 36 }, { element: "Pb", percent: 2.6 }, { element: "Be", at_most: 0.01 }],
    certificate: { number: "T 2207", source: "the rod mill's", dated: "2026-03-02" }, density: { value: 8.5, unit: "g/cm3" }, scrap: "leaded_brass", notes: "Rack 2" };
  const cards = { alloys: { C36000: { base: "Cu" } } };
  assert.ok(same(readAlloy(alloyValues(alloy), cards).body, alloy));
  assert.deepEqual(wrong(readAlloy(alloyValues(alloy), cards).errors), []);
  assert.deepEqual(wrong(readAlloy(alloyValues(null), cards).errors), ["base", "dated", "name", "number", "says", "source"]);
  const values = alloyValues(alloy);
  for (const [change, field] of /** @type {[Record<string, string>, string][]} */ ([
    [{ says: "Cu 61, Zn 50" }, "says"], [{ says: "Cu 61, Bo 1" }, "says"], [{ says: "Cu 61, much lead" }, "says"], [{ base: "Zn" }, "base"], [{ base: "Al", says: "Mg 1", like: "C36000" }, "like"],
    [{ density: "heavy" }, "density"], [{ uns: "C36" }, "uns"], [{ dated: "" }, "dated"],
  ])) assert.ok(readAlloy({ ...values, ...change }, cards).errors[field], JSON.stringify(change));
  const { body } = readAlloy({ ...values, uns: "", density: "", like: "", scrap: "", notes: " " }, cards);
  assert.deepEqual(Object.keys(body).sort(), ["base", "certificate", "composition", "name"]);
});

test("two meters of one kind are refused: rules could not tell them apart", () => {
  const values = machineValues({ ...MACHINE, meters: [...MACHINE.meters, { id: "m2", kind: "spindle_hours", name: "Second spindle", unit: "h" }] });
  assert.deepEqual(wrong(readMachine(values).errors), ["meters/m1/kind", "meters/m2/kind"]);
});

test("a fluid without capacity and a part without a kind are named", () => {
  const values = machineValues(MACHINE);
  values.fluids[0].capacity = "0";
  values.parts[1].kind = "";
  assert.deepEqual(wrong(readMachine(values).errors), ["fluids/f1/capacity", "parts/p2/kind"]);
});

test("a new meter is called by what it counts, in the shop's units", () => {
  assert.deepEqual(usualMeter("cut_area", "metric"), { kind: "cut_area", name: "Cut area", unit: "sq cm" });
  assert.deepEqual(usualMeter("cut_area", "us"), { kind: "cut_area", name: "Cut area", unit: "sq in" });
  assert.deepEqual(usualMeter("blast_hours", "metric"), { kind: "blast_hours", name: "Blast hours", unit: "h" });
});

const TASK = {
  machine: "m", name: "Change the filter", rule: { first_of: [{ meter: "spindle_hours", every: 250 }, { every: { months: 6 } }] }, checklist: null, steps: ["Lock out.", "Change it."], minutes: 20,
  cautions: ["lock_out"], why: "It clogs.", source: "common practice, no source", start: "2027-03-02", meter_start: { m1: 120.5 },
};
const TODAY = "2027-03-02";

test("a task goes through the form unchanged, at a machine and at the shop", () => {
  assert.ok(same(readTask(taskValues(TASK, TODAY), MACHINE).body, TASK));
  const shop = { ...TASK, machine: null, rule: { every: { years: 1 } }, meter_start: {} };
  const values = taskValues(shop, TODAY);
  assert.equal(values.machine, SHOP);
  assert.ok(same(readTask(values, null).body, shop));
});

test("a task that is not whole says what is missing, the part of its rule among it", () => {
  assert.deepEqual(wrong(readTask(taskValues(null, TODAY), null).errors), ["machine", "name", "why"]);
  const values = taskValues(TASK, TODAY);
  values.rules[0].amount = "0";
  values.minutes = "-1";
  values.meterStart = { m1: "lots" };
  assert.deepEqual(wrong(readTask(values, MACHINE).errors), ["meterStart.m1", "minutes", "rule.0.amount"]);
});

test("steps are lines; a meter counts from a total only where the rule counts by it", () => {
  assert.deepEqual(readSteps(" Lock out. \n\n Change it.\n"), ["Lock out.", "Change it."]);
  assert.deepEqual(countedBy(taskValues(TASK, TODAY).rules, MACHINE).map(({ id }) => id), ["m1"]);
  const dated = { ...TASK, rule: { every: { days: 3 } } };
  assert.deepEqual(countedBy(taskValues(dated, TODAY).rules, MACHINE), []);
  assert.deepEqual(readTask(taskValues(dated, TODAY), MACHINE).body.meter_start, TASK.meter_start);
});

test("members move by one and stay whole", () => {
  assert.deepEqual(moved(["a", "b", "c"], 2, 1), ["a", "c", "b"]);
  const list = ["a", "b"];
  assert.equal(moved(list, 0, -1), list);
  assert.equal(moved(list, 1, 2), list);
});

test("the server's faults find their field: a member's own, else what it lies in, else they are said apart", () => {
  const fields = { rule: /** @type {[string, string]} */ (["rule", "The rule"]), ...memberFields("checks", [{ id: "x" }, { id: "y" }], { text: ["text", "What to check"] }) };
  const { errors, rest } = byField([
    { field: "checks.1.text", problem: "is empty", mend: "write at least a word" }, { field: "rule.first_of[1].every.months", problem: "It is not a whole number in range.", mend: "Give 1 to 1200." },
    { field: "checks.7.text", problem: "is empty", mend: "write" }, { field: "id", problem: "x stands twice", mend: "give each its own" },
  ], fields);
  assert.equal(errors[errorKey("checks", "y", "text")], "What to check is empty. Write at least a word.");
  assert.equal(errors.rule, "The rule is not a whole number in range. Give 1 to 1200.");
  assert.deepEqual(rest, ["Checks.7.text is empty. Write.", "Id x stands twice. Give each its own."]);
  assert.equal(sentence("The rule", { field: "rule", problem: "FREQ=HOURLY cannot be used here.", mend: "Count hours with a meter." }), "The rule: FREQ=HOURLY cannot be used here. Count hours with a meter.");
  assert.deepEqual(memberErrors("checks", "x", { text: "no" }), { "checks/x/text": "no" });
});

test("names of machines and bays that are about to be", () => {
  assert.equal(nextName("Band saw", ["band saw ", "Band saw 2"]), "Band saw 3");
  const wishes = [{ bay: "new", newBay: " Machine bay " }, { bay: "new Machine bay", newBay: "" }, { bay: "b1", newBay: "x" }, { bay: "", newBay: "" }];
  assert.deepEqual(wishes.map(newBayName), ["Machine bay", "Machine bay", null, null]);
  assert.deepEqual(newBays(wishes), [{ value: "new Machine bay", text: "Machine bay" }]);
});
