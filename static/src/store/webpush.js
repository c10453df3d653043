// Web push to this browser: whether it can be had, signing up, and mending what the browser or the server changed.
// The messages are sealed for this browser; they come through its maker's push service, so it needs the internet.
import { ask } from "./http.js";

/**
 * @typedef {"insecure" | "home screen" | "unsupported" | "denied" | "off" | "on" | "elsewhere"} PushState
 *   "elsewhere": on, for another person
 * @typedef {{ key: string, subscriptions: { id: string, person: string, device: string, made_at: string }[] }} Ways what the server says
 * @typedef {{ endpoint: string, options?: { applicationServerKey: ArrayBuffer | null }, unsubscribe(): Promise<boolean>, toJSON(): any }} Subscription
 * @typedef {{ getSubscription(): Promise<Subscription | null>, subscribe(how: object): Promise<Subscription> }} Manager
 * @typedef {(method: "GET" | "POST" | "DELETE", path: string, body?: any) => Promise<any>} Ask "/reminders/channels" and the like
 * @typedef {{ manager: Manager, ask: Ask }} Parts
 */

const HELD = "wayround.push";

/** Why this browser cannot have it whatever is pressed, or null when it can. @param {any} [scope] @returns {"insecure" | "home screen" | "unsupported" | "denied" | null} */
export function hindered(scope = globalThis) {
  if (!scope.isSecureContext) return "insecure";
  if (!scope.navigator.serviceWorker || !("PushManager" in scope) || !("Notification" in scope)) {
    const { userAgent = "", maxTouchPoints = 0 } = scope.navigator;
    const apple = /iPhone|iPad|iPod/.test(userAgent) || (/Macintosh/.test(userAgent) && maxTouchPoints > 1);
    return apple && !scope.navigator.standalone ? "home screen" : "unsupported";
  }
  return scope.Notification.permission === "denied" ? "denied" : null;
}

/** @param {string} text base64url */
const bytesOf = (text) => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (letter) => letter.charCodeAt(0));

/** Whether a subscription was made for the key that the server has now. @param {Subscription} held @param {string} key */
function fits(held, key) {
  const own = held.options?.applicationServerKey;
  if (!own) return true; // this browser does not tell
  const [a, b] = [new Uint8Array(own), bytesOf(key)];
  return a.length === b.length && a.every((byte, index) => byte === b[index]);
}

/** How it stands for a person at this device. @param {Ways} ways @param {string} device @param {string} person @param {Subscription | null} held @returns {PushState} */
export function stateOf(ways, device, person, held) {
  const row = ways.subscriptions.find((one) => one.device === device);
  if (!row || !held || !fits(held, ways.key)) return "off";
  return row.person === person ? "on" : "elsewhere";
}

/** Sign this browser up for a person's messages; the permission is given by now. @param {Parts} parts @param {string} key @param {string} person */
export async function signUp({ manager, ask }, key, person) {
  let held = await manager.getSubscription();
  if (held && !fits(held, key)) {
    await held.unsubscribe();
    held = null;
  }
  held ??= await manager.subscribe({ userVisibleOnly: true, applicationServerKey: bytesOf(key) });
  const { endpoint, keys } = held.toJSON();
  await ask("POST", "/reminders/subscriptions", { person, endpoint, keys });
  hold(endpoint);
}

/** No more to this browser. The server first: what it has forgotten it sends nothing to. @param {Parts} parts @param {Ways} ways @param {string} device */
export async function signOff({ manager, ask }, ways, device) {
  for (const { id } of ways.subscriptions.filter((one) => one.device === device)) await ask("DELETE", `/reminders/subscriptions/${id}`);
  await (await manager.getSubscription())?.unsubscribe();
  hold(null);
}

/**
 * Where the server has this browser signed up and the browser's own end is gone, is another, or was made for an older
 * key, sign it up again. Resolves to whether it did.
 * @param {Parts} parts @param {string} device @param {{ sure?: boolean }} [how] `sure`: the browser said that it changed
 */
export async function mend(parts, device, { sure = false } = {}) {
  const { push: ways } = await parts.ask("GET", "/reminders/channels");
  const row = ways.subscriptions.find((/** @type {{ device: string }} */ one) => one.device === device);
  if (!row) return false;
  const held = await parts.manager.getSubscription();
  if (!sure && held && fits(held, ways.key) && [null, held.endpoint].includes(told())) return false;
  await signUp(parts, ways.key, row.person);
  return true;
}

/** The same for a page at its start, where messages are allowed. @param {import("./http.js").Fetch} fetch @param {string} device */
export async function mendHere(fetch, device) {
  const { pushManager } = await navigator.serviceWorker.ready;
  return mend({ manager: /** @type {any} */ (pushManager), ask: (method, path, body) => ask(fetch, method, path, { body }) }, device);
}

/** And for the service worker, when the browser says that it changed its end. @param {import("./http.js").Fetch} fetch @param {Manager} manager */
export async function mendChanged(fetch, manager) {
  /** @type {Ask} */
  const own = (method, path, body) => ask(fetch, method, path, { body });
  const { device } = await own("GET", "/session");
  return device ? mend({ manager, ask: own }, device.id, { sure: true }) : false;
}

/** The address that the server was told last, where this browser remembers it. @returns {string | null} */
function told() {
  try {
    return localStorage.getItem(HELD);
  } catch {
    return null; // a service worker has none, and it can be forbidden
  }
}

/** @param {string | null} endpoint */
function hold(endpoint) {
  try {
    if (endpoint === null) localStorage.removeItem(HELD);
    else localStorage.setItem(HELD, endpoint);
  } catch {
    // then a change of address is found by the browser's own word alone
  }
}
