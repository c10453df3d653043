// Reminders that come by push while the app is shut: what a notification shows, and what its actions do. "Done" is an
// entry like any other: kept in the outbox first, sent when it can be. "Later" is kept too until the server has it.
import { send } from "./http.js";
import { append } from "./outbox.js";
import { MOST_BYTES, MOST_ENTRIES, pushAll } from "./push.js";

/**
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {{ reminder: string | null, machine: string | null, task: string | null, link: string }} Item
 * @typedef {{ v: number, id: string, title: string, body: string, link: string, device: string, person: string, items: Item[] }} Nudge
 * @typedef {{ id: string, until: string }} Snooze
 * @typedef {{ open: (device: string) => Vault, fetch: import("./http.js").Fetch, locks?: LockManager | null, now?: () => number }} Parts
 */

const LATER_MS = 3 * 3_600_000;
const KEY = "snoozes";
/** Answers after which asking again would change nothing. */
const SETTLED = [200, 204, 400, 404, 422];

/** What a notification says. Pushed content that cannot be read still has to show something. @param {unknown} sent */
export function shown(sent) {
  const nudge = readable(sent);
  if (!nudge) return { title: "Wayround", options: { body: "Something needs you. Open Wayround to see what.", tag: "unread", data: null } };
  const actions = [
    ...(doable(nudge) ? [{ action: "done", title: "Done" }] : []),
    ...(nudge.items.some((item) => item.reminder) ? [{ action: "later", title: "Later" }] : []),
  ];
  return { title: nudge.title, options: { body: nudge.body, tag: nudge.id, data: nudge, icon: "/icons/icon-192.png", actions } };
}

/** @param {any} sent @returns {Nudge | null} */
function readable(sent) {
  const texts = ["id", "title", "body", "link", "device", "person"];
  const good = sent?.v === 1 && Array.isArray(sent.items) && texts.every((name) => typeof sent[name] === "string");
  return good && sent.link.startsWith("#/") ? sent : null;
}

/** One task for which pressing is enough; of several nobody may say "done" in one go. @param {Nudge} nudge */
const doable = (nudge) => nudge.items.length === 1 && Boolean(nudge.items[0].task);

/**
 * Do what was pressed. Resolves to the address to open, or null when nothing is to be opened.
 * @param {Parts} parts @param {string} action "" for the notification itself @param {Nudge | null} nudge
 */
export async function act(parts, action, nudge) {
  if (!nudge || (action !== "done" && action !== "later") || (action === "done" && !doable(nudge))) return `/${nudge?.link ?? ""}`;
  const vault = parts.open(nudge.device);
  try {
    // A phone that has never synced as this device has nowhere to keep it.
    if ((await vault.get("meta", "cursor")) === undefined) return `/${nudge.link}`;
    if (action === "done") {
      const [{ machine, task }] = nudge.items;
      await append(vault, [{ kind: "task.done", machine, body: { task } }], nudge.person);
    } else {
      await keepSnoozes(vault, nudge, (parts.now ?? Date.now)());
    }
    await carry(parts, vault);
    return null;
  } finally {
    await vault.close();
  }
}

/** @param {Vault} vault @param {Nudge} nudge @param {number} now */
function keepSnoozes(vault, nudge, now) {
  const until = new Date(now + LATER_MS).toISOString();
  const made = nudge.items.flatMap(({ reminder }) => (reminder ? [{ id: reminder, until }] : []));
  return vault.run(["meta"], "readwrite", async (tx) => {
    const meta = tx.objectStore("meta");
    const before = /** @type {Snooze[]} */ ((await meta.get(KEY)) ?? []);
    const kept = before.filter((one) => !made.some((other) => other.id === one.id));
    await meta.put([...kept, ...made], KEY);
  });
}

/** Send what waits, unless a page of the app is doing that just now. @param {Parts} parts @param {Vault} vault */
async function carry(parts, vault) {
  const { fetch, locks } = parts;
  const trip = async () => {
    const offset = (await vault.get("meta", "offset")) ?? 0;
    await pushAll({ vault, fetch, offset, bytes: MOST_BYTES, count: MOST_ENTRIES, moved: () => {} });
    await sendSnoozes(vault, fetch);
  };
  if (!locks) await trip();
  else await locks.request(`sync ${vault.name}`, { ifAvailable: true }, (lock) => (lock ? trip() : undefined));
}

/** Send each "later" that is kept; what has no answer stays. @param {Vault} vault @param {import("./http.js").Fetch} fetch */
export async function sendSnoozes(vault, fetch) {
  for (const one of /** @type {Snooze[]} */ ((await vault.get("meta", KEY)) ?? [])) {
    const answer = await send(fetch, "POST", `/reminders/${one.id}/snooze`, { body: { until: one.until } });
    if (!answer || !SETTLED.includes(answer.status)) return;
    await vault.run(["meta"], "readwrite", async (tx) => {
      const meta = tx.objectStore("meta");
      const left = /** @type {Snooze[]} */ ((await meta.get(KEY)) ?? []);
      await meta.put(left.filter((other) => other.id !== one.id || other.until !== one.until), KEY);
    });
  }
}
