// Reminders that come by push while the app is shut: what a notification shows, and what its actions do. "Done" is an
// entry like any other: kept in the outbox first, sent when it can be. "Later" is kept too until the server has it.
import { send } from "./http.js";
import { append } from "./outbox.js";
import { MOST_BYTES, MOST_ENTRIES, pushAll } from "./push.js";

/**
 * What a snooze says, and whether the server has it: then it stands until an answer of the server's counts it.
 * @typedef {{ id: string, until: string | null, sent?: boolean }} Snooze
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {{ reminder: string | null, machine: string | null, task: string | null, link: string }} Item
 * @typedef {{ v: number, id: string, title: string, body: string, link: string, device: string, person: string, items: Item[] }} Nudge
 * @typedef {{ open: (device: string) => Vault, fetch: import("./http.js").Fetch, locks?: LockManager | null, now?: () => number }} Parts
 */

const LATER_MS = 3 * 3_600_000;
/** Where snoozes are kept, in the store "meta". */
export const SNOOZES = "snoozes";
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
      await keepSnoozes(vault, toldOf(nudge), new Date((parts.now ?? Date.now)() + LATER_MS).toISOString());
    }
    moved(vault); // what is kept shows on the app's open pages before it is sent
    await carry(parts, vault);
    moved(vault);
    return null;
  } finally {
    await vault.close();
  }
}

/** The reminders a message tells of. @param {Nudge} nudge */
const toldOf = (nudge) => nudge.items.flatMap(({ reminder }) => (reminder ? [reminder] : []));

/** Keep that reminders are to rest, or no longer to; only the last word on each counts. @param {Vault} vault @param {string[]} ids @param {string | null} until RFC 3339 */
export function keepSnoozes(vault, ids, until) {
  return vault.run(["meta"], "readwrite", async (tx) => {
    const meta = tx.objectStore("meta");
    const before = /** @type {Snooze[]} */ ((await meta.get(SNOOZES)) ?? []);
    await meta.put([...before.filter(({ id }) => !ids.includes(id)), ...ids.map((id) => ({ id, until }))], SNOOZES);
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

/** Tell the app's open pages to read anew. @param {Vault} vault */
function moved(vault) {
  if (typeof BroadcastChannel === "undefined") return;
  const pages = new BroadcastChannel(vault.name);
  pages.postMessage("moved");
  pages.close();
}

/**
 * Send each "later" that is kept; what has no answer stays, to be tried again soon.
 * @param {Vault} vault @param {import("./http.js").Fetch} fetch @returns {Promise<import("./push.js").Halt>}
 */
export async function sendSnoozes(vault, fetch) {
  const waiting = (await kept(vault)).filter(({ sent }) => !sent);
  for (const one of waiting) {
    const answer = await send(fetch, "POST", `/reminders/${one.id}/snooze`, { body: { until: one.until } });
    if (!answer) return { link: "no signal", wait: null };
    if (!SETTLED.includes(answer.status)) return { link: answer.status === 401 ? "sign in again" : "server trouble", wait: answer.retryAfter };
    const taken = answer.status < 300;
    await mend(vault, (all) => all.flatMap((other) => (!same(other, one) ? [other] : taken ? [{ ...one, sent: true }] : [])));
  }
  return null;
}

/** What the server had before it was asked what stands is in its answer, and need not be kept beside it. @param {Vault} vault @param {Snooze[]} counted */
export const dropCounted = (vault, counted) => mend(vault, (all) => all.filter((one) => !counted.some((other) => other.sent && same(one, other))));

/** @param {Vault} vault @returns {Promise<Snooze[]>} */
export const kept = async (vault) => (await vault.get("meta", SNOOZES)) ?? [];

/** @param {Snooze} a @param {Snooze} b */
const same = (a, b) => a.id === b.id && a.until === b.until;

/** @param {Vault} vault @param {(all: Snooze[]) => Snooze[]} change */
function mend(vault, change) {
  return vault.run(["meta"], "readwrite", async (tx) => {
    const meta = tx.objectStore("meta");
    await meta.put(change((await meta.get(SNOOZES)) ?? []), SNOOZES);
  });
}
