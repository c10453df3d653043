// Who this browser is: to the server a device, to the record a person. What was known last is shown at once; the
// server is asked meanwhile, and corrects it.
import { deleteDB } from "idb";
import { ask, Problem } from "./http.js";
import { wallDate } from "./instants.js";
import { pinMatches } from "./pin.js";

/**
 * @typedef {import("./app-store.js").Store} Store
 * @typedef {import("./types.js").Session} Session
 */

const SESSION_LIMIT_MS = 8_000;

/** Open what this phone was last, then ask the server. @param {Store} store */
export async function begin(store) {
  const last = store.memory.last();
  store.asking = askServer(store);
  if (!last) return store.asking;
  store.view.session.value = { phase: "joined", owner: false, ...last, checked: false };
  await store.open(last.device);
}

/** Ask who we are; without an answer what is shown stays as it is. @param {Store} store */
export async function askServer(store) {
  try {
    await settle(store, await ask(store.fetch, "GET", "/session", { timeout: SESSION_LIMIT_MS }));
  } catch (error) {
    const { session, storage } = store.view;
    if (!(error instanceof Problem)) storage.value = error instanceof Error ? error.message : String(error);
    if (session.value.phase === "starting") session.value = { ...session.value, phase: "unreachable" };
  }
}

/** Take the server's word. @param {Store} store @param {any} said */
async function settle(store, said) {
  const { view, memory } = store;
  if (typeof said?.first_run !== "boolean" || !("device" in said)) throw new Problem({ title: "Something else answered", offline: true });
  const before = view.session.value.device;
  if (!said.device) {
    // A phone that was put out keeps what it holds, shown and exportable, until somebody lets it in again.
    if (before) view.link.value = "sign in again";
    else view.session.value = { ...view.session.value, phase: said.first_run ? "first run" : "not joined", checked: true };
    return;
  }
  const last = { device: said.device, shop: said.shop, demo: said.demo };
  memory.keepLast(last);
  const other = before?.id !== said.device.id || !store.vault;
  view.session.value = { phase: "joined", owner: said.owner, ...last, checked: true };
  if (other) await store.open(said.device);
  await noteLoss(store, said.device.id);
}

/** After the browser cleared its storage: say what may be missing. @param {Store} store @param {string} device */
async function noteLoss(store, device) {
  const seq = (await store.vault?.get("meta", "seq")) ?? 0;
  const noted = store.memory.numbers(device).read();
  if (noted > seq) {
    store.view.lost.value = `This phone's storage was cleared: it had numbered its entries up to ${noted}. `
      + "What was not sent by then is missing; the numbers missing are shown once the server has answered.";
  }
}

/** @param {Store} store @param {"first" | "owner" | "join"} way @param {any} form */
export async function signIn(store, way, form) {
  await store.asking; // its answer must not undo this one
  const said = await ask(store.fetch, "POST", `/session/${way}`, { body: form });
  const before = store.view.session.value.device;
  // A new enrolment while an old one still holds something: that stays under the old name and is offered again.
  if (before && said.device && before.id !== said.device.id) await leaveBehind(store, before.id);
  await settle(store, said);
  store.sync?.soon();
}

/** @param {Store} store */
export async function ownerOut(store) {
  await ask(store.fetch, "DELETE", "/session/owner");
  store.view.session.value = { ...store.view.session.value, owner: false };
}

/** Close a device's database: remembered when something in it is unsent, removed when not. @param {Store} store @param {string} device */
export async function leaveBehind(store, device) {
  const waiting = await count(store.opened);
  const { name } = store.opened;
  await store.shut();
  const left = store.memory.left().filter((id) => id !== device);
  if (waiting) store.memory.keepLeft([...left, device]);
  else await deleteDB(name);
}

/** @param {import("./db.js").Vault} vault how many entries and photos wait, or were refused */
export async function count(vault) {
  const stores = ["outbox", "tray", "uploads"];
  return vault.run(stores, "readonly", async (tx) => {
    const counts = await Promise.all(stores.map((name) => tx.objectStore(name).count()));
    return counts.reduce((sum, one) => sum + one, 0);
  });
}

/** @param {Store} store @param {string} id @param {string} [pin] @returns {Promise<boolean>} */
export async function choosePerson(store, id, pin) {
  const person = store.view.definitions.value.people.find((one) => one.id === id && !one.retired);
  if (!person) throw new Problem({ title: "Nobody of that name", detail: "Choose one of the people of the shop." });
  if (person.pin && !(await pinMatches(pin ?? "", /** @type {import("./types.js").Pin} */ (person.pin)))) return false;
  store.view.person.value = person;
  store.memory.keepPerson({ id, day: wallDate() });
  return true;
}

/** @param {Store} store */
export function forgetPerson(store) {
  store.view.person.value = null;
  store.memory.keepPerson(null);
}

/** After definitions changed, and at the start of a tab: who was named here today. @param {Store} store */
export function refreshPerson(store) {
  const kept = store.memory.person();
  const today = kept && kept.day === wallDate() ? kept.id : null;
  const person = store.view.definitions.value.people.find((one) => one.id === today && !one.retired) ?? null;
  if (store.view.person.value !== person) store.view.person.value = person;
}
