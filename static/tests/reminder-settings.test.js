// Reminder settings between what is typed and what is kept, and a browser's sign-up to web push.
import assert from "node:assert/strict";
import { test } from "node:test";
import { personStart, readPerson, readTimes, timesStart } from "../src/places/reminders/values.js";
import { sayJob } from "../src/places/reminders/jobs.js";
import { hindered, mend, signOff, signUp, stateOf } from "../src/store/webpush.js";

const errorsIn = (/** @type {Record<string, string | null>} */ errors) => Object.values(errors).filter(Boolean);

test("a person's settings come out of the form as they went in", () => {
  const all = [
    { channels: ["push"] }, { channels: [], about: ["none"] }, { channels: ["push", "mail"], mail: "a@quill.example", about: ["work", "shop"] },
    { channels: ["mail"], mail: "a@quill.example", quiet: { begins: "17:00", ends: "08:00" }, about: ["shop"], machines: ["m"] }, { channels: ["push"], mail: "a@quill.example" },
  ];
  for (const reminders of all) assert.deepEqual(readPerson(personStart({ reminders })).body, reminders);
  assert.deepEqual(readPerson(personStart({})).body, { channels: ["push"] });
});

test("what a person cannot mean is said under its field", () => {
  const start = personStart({});
  const cases = /** @type {[any, string, RegExp][]} */ ([
    [{ mail: true }, "address", /is empty/], [{ address: "ben at home" }, "address", /like name@example.com/], [{ hours: "own", begins: "" }, "begins", /is empty. Give a time/],
    [{ hours: "own", begins: "24:00" }, "begins", /"24:00"/], [{ hours: "own", begins: "08:00", ends: "08:00" }, "ends", /ends when it begins/], [{ where: "some" }, "machines", /No machine is ticked/],
  ]);
  for (const [some, field, words] of cases) {
    const { errors } = readPerson({ ...start, ...some });
    assert.match(errors[field] ?? "", words);
    assert.equal(errorsIn(errors).length, 1);
  }
});

test("the shop's times come out as they went in; what is usual is left out", () => {
  for (const shop of [{}, { shifts: [{ days: ["mon", "sat"], begins: "22:00", ends: "06:00" }], reminders: { digest_at: "05:45", tag_days: 2 } }]) {
    const { errors, body } = readTimes(timesStart(shop));
    assert.deepEqual([errorsIn(errors), body], [[], shop]);
  }
});

test("days of a shift are kept in the week's order, whatever they were ticked in", () => {
  const { body } = readTimes({ ...timesStart({}), usualShifts: false, shifts: [{ key: "0", days: ["fri", "mon"], begins: "06:00", ends: "14:00" }] });
  assert.deepEqual(body.shifts, [{ days: ["mon", "fri"], begins: "06:00", ends: "14:00" }]);
});

test("shifts and figures that cannot be are said with their mend", () => {
  const start = { ...timesStart({}), usualShifts: false };
  const shift = { key: "0", days: ["mon"], begins: "06:00", ends: "14:00" };
  const cases = /** @type {[any, string, RegExp][]} */ ([
    [{ shifts: [] }, "shifts", /Add one/], [{ shifts: [shift, { ...shift, days: [] }] }, "shifts", /Shift 2 has no day/], [{ shifts: [{ ...shift, ends: "" }] }, "shifts", /end of shift 1 is empty/],
    [{ shifts: [{ ...shift, ends: "06:00" }] }, "shifts", /ends when it begins/], [{ tag_days: "0" }, "tag_days", /at least 1/], [{ paper_days: "366" }, "paper_days", /at most 365/],
    [{ escalate_hours: "721" }, "escalate_hours", /at most 720/], [{ phone_days: "1.5" }, "phone_days", /whole number/], [{ round_by: "9" }, "round_by", /such as 17:30/],
  ]);
  for (const [some, field, words] of cases) {
    const { errors } = readTimes({ ...start, ...some });
    assert.match(errors[field] ?? "", words);
    assert.equal(errorsIn(errors).length, 1);
  }
});

test("every job of the server's has its words, and one that is new is named", () => {
  for (const job of ["daily roll", "reminders", "digest", "messages", "purge", "backup", "feeds"]) assert.ok(!sayJob(job)[0].includes(job === "feeds" ? "job" : `"${job}"`));
  assert.match(sayJob("sweep")[0], /"sweep" fails/);
});

const KEY = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4"; // RFC 8291, appendix A
const OTHER = KEY.replace("BCVx", "BCVy");

/** A browser's end, and a server that notes what it is asked. */
function browser() {
  /** @type {any} */
  let held = null;
  let count = 0;
  /** @type {any[]} */
  const asked = [];
  /** @type {any[]} */
  let rows = [];
  const state = { key: KEY };
  const manager = {
    getSubscription: async () => held,
    subscribe: async (/** @type {any} */ { applicationServerKey: key }) => {
      count += 1;
      held = { endpoint: `https://push.example/${count}`, options: { applicationServerKey: key.buffer }, unsubscribe: async () => { held = null; return true; }, toJSON() { return { endpoint: this.endpoint, keys: {} }; } };
      return held;
    },
  };
  const ask = async (/** @type {string} */ method, /** @type {string} */ path, /** @type {any} */ body) => {
    if (path === "/reminders/channels") return { push: { key: state.key, subscriptions: rows } };
    asked.push([method, path, body?.endpoint]);
    rows = method === "POST" ? [{ id: "s", person: body.person, device: "d", made_at: "" }] : [];
    return null;
  };
  const parts = { manager: /** @type {any} */ (manager), ask: /** @type {any} */ (ask) };
  return { parts, asked, state, ways: () => ({ key: state.key, subscriptions: rows }), held: () => held, lose: () => { held = null; } };
}

test("a browser signs up for a person, once, and signs off", async () => {
  const { parts, asked, ways, held } = browser();
  assert.equal(stateOf(ways(), "d", "ben", null), "off");
  await signUp(parts, KEY, "ben");
  await signUp(parts, KEY, "ben");
  assert.deepEqual(asked.map(([, , endpoint]) => endpoint), ["https://push.example/1", "https://push.example/1"]);
  assert.deepEqual([stateOf(ways(), "d", "ben", held()), stateOf(ways(), "d", "ann", held()), stateOf(ways(), "e", "ben", held())], ["on", "elsewhere", "off"]);
  await signOff(parts, ways(), "d");
  assert.deepEqual([asked.at(-1)[0], held()], ["DELETE", null]);
});

test("a new key of the server's, or an end that the browser lost, is mended; what was signed off is left alone", async () => {
  const { parts, state, ways, held, lose } = browser();
  assert.equal(await mend(parts, "d"), false);
  await signUp(parts, KEY, "ben");
  assert.equal(await mend(parts, "d"), false);
  state.key = OTHER;
  assert.equal(stateOf(ways(), "d", "ben", held()), "off");
  assert.equal(await mend(parts, "d"), true);
  assert.deepEqual([held().endpoint, stateOf(ways(), "d", "ben", held())], ["https://push.example/2", "on"]);
  lose();
  assert.equal(await mend(parts, "d"), true);
  assert.equal(await mend(parts, "d", { sure: true }), true, "the browser's own word counts");
  assert.equal(await mend(parts, "another device"), false);
});

test("why a browser cannot have messages", () => {
  const well = { isSecureContext: true, navigator: { serviceWorker: {}, userAgent: "X11" }, PushManager: 1, Notification: { permission: "default" } };
  assert.equal(hindered(well), null);
  assert.equal(hindered({ ...well, isSecureContext: false }), "insecure");
  assert.equal(hindered({ ...well, Notification: { permission: "denied" } }), "denied");
  const without = { isSecureContext: true, navigator: well.navigator, Notification: well.Notification };
  assert.equal(hindered(without), "unsupported");
  assert.equal(hindered({ ...without, navigator: { serviceWorker: {}, userAgent: "iPhone" } }), "home screen");
  assert.equal(hindered({ ...without, navigator: { serviceWorker: {}, userAgent: "iPhone", standalone: true } }), "unsupported");
});
