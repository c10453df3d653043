// Leaving a shop, and what an earlier enrolment left on this phone. Loaded only when it is asked for.
import { deleteDB } from "idb";
import { Vault } from "./db.js";
import { ask, Problem } from "./http.js";
import { count, forgetPerson, leaveBehind } from "./session.js";
import { readFile, writeFile } from "./unsent-file.js";

/** @typedef {import("./app-store.js").Store} Store */

/** @param {Store} store @param {boolean} keepUnsent */
export async function leave(store, keepUnsent) {
  await store.asking; // its answer must not undo this
  const { device } = store.view.session.value;
  if (!device) return;
  await store.syncNow();
  const waiting = await count(store.opened);
  if (waiting && !keepUnsent) {
    throw new Problem({ title: "Something is unsent", detail: `${waiting} entries or photos have not been sent. Save them to a file first, `
      + "or leave them on this phone." });
  }
  await ask(store.fetch, "DELETE", "/session");
  await leaveBehind(store, device.id);
  store.memory.keepLast(null);
  forgetPerson(store);
  store.view.session.value = { phase: "not joined", owner: false, device: null, shop: null, demo: false, checked: true };
}

/** @param {Store} store @returns {Promise<{ device: string, count: number }[]>} */
export async function leftBehind(store) {
  const own = store.view.session.value.device?.id;
  const found = [];
  for (const device of store.memory.left().filter((id) => id !== own)) {
    const vault = new Vault(device);
    found.push({ device, count: await count(vault) });
    await vault.close();
  }
  return found.filter((one) => one.count > 0);
}

/** @param {Store} store @param {string} device */
export async function bringOver(store, device) {
  const { session, definitions } = store.view;
  const old = new Vault(device);
  const rows = await old.all("definitions");
  const shop = rows.find((row) => row.type === "shop")?.id ?? null;
  const file = await writeFile(old, { id: device, shop });
  const read = await readFile(store.opened, file, { id: session.value.device?.id ?? "", shop: definitions.value.shop?.id ?? null });
  await old.close();
  // Only now that all of it is durable here may the old one go.
  await deleteDB(old.name);
  store.memory.keepLeft(store.memory.left().filter((id) => id !== device));
  store.countLeft(session.value.device?.id);
  await store.read();
  store.sync?.soon();
  return read;
}

