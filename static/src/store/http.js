// Asking the server. An answer counts only when it is JSON: a captive portal says 200 too.

const BASE = "/api/v1";
/** The number by which the server tells an app that is too old (426). Raise it when the wire format changes. */
export const APP_NUMBER = 1;

/**
 * @typedef {{ status: number, body: any, date: number | null, etag: string | null, retryAfter: number | null }} Answer
 *   `body` is null when the answer was no JSON; `date` is the server's clock, ms since 1970; `retryAfter` in ms.
 * @typedef {typeof globalThis.fetch} Fetch
 * @typedef {{ body?: any, bytes?: ArrayBuffer, type?: string, etag?: string, timeout?: number }} Options
 */

/** What is wrong, in words for a person: RFC 9457, or made up here when there was no answer. */
export class Problem extends Error {
  /** @param {import("./types.js").Problem & { offline?: boolean, now?: any }} problem */
  constructor({ title, status = 0, detail = "", errors = [], offline = false, now = null }) {
    super(detail || title);
    this.title = title;
    this.status = status;
    this.detail = detail || title;
    this.errors = errors;
    this.offline = offline;
    /** What the server holds now, when an edit met a newer revision (412). */
    this.now = now;
  }
}

/** @param {string | null} text @param {number} now @returns {number | null} */
function waitOf(text, now) {
  if (!text) return null;
  const ms = /^\d+$/.test(text) ? Number(text) * 1000 : Date.parse(text) - now;
  return Number.isFinite(ms) ? Math.max(0, ms) : null;
}

/** @param {Response} response */
async function jsonOf(response) {
  const type = response.headers.get("content-type") ?? "";
  if (!/[/+]json\b/i.test(type)) return null;
  try {
    return await response.json();
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}

/**
 * One request. Resolves to an answer of any status, or to null when there was none: no signal, or no end within
 * `timeout` ms. Null is "unknown", never "failed": ask again with the same ids.
 * @param {Fetch} fetch @param {string} method @param {string} path @param {Options} [options]
 * @returns {Promise<Answer | null>}
 */
export async function send(fetch, method, path, { body, bytes, type, etag, timeout = 15_000 } = {}) {
  /** @type {Record<string, string>} */
  const headers = { Accept: "application/json", "Wayround-App": String(APP_NUMBER) };
  if (body !== undefined) headers["Content-Type"] = "application/json";
  if (bytes) headers["Content-Type"] = type ?? "application/octet-stream";
  if (etag) headers["If-Match"] = etag;
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), timeout);
  try {
    const response = await fetch(BASE + path, {
      method, headers, signal: stop.signal, credentials: "same-origin", cache: "no-store", redirect: "error",
      body: bytes ?? (typeof body === "string" ? body : body === undefined ? undefined : JSON.stringify(body)),
    });
    const date = Date.parse(response.headers.get("date") ?? "");
    return {
      status: response.status, body: await jsonOf(response), etag: response.headers.get("etag"),
      date: Number.isFinite(date) ? date : null, retryAfter: waitOf(response.headers.get("retry-after"), Date.now()),
    };
  } catch {
    return null;
  } finally {
    clearTimeout(timer);
  }
}

const SILENT = { title: "No answer from the shop's server", offline: true,
  detail: "There was no answer from the shop's server: try again when there is signal." };

/** @param {number} status */
const STRANGE = (status) => ({ title: "Something else answered", status, offline: true,
  detail: "Something else than the shop's server answered: is this network asking for a sign-in of its own?" });

/**
 * The problem in an answer, or null when it is well.
 * @param {Answer | null} answer
 */
export function problemIn(answer) {
  if (!answer) return new Problem(SILENT);
  const { status, body } = answer;
  if (status >= 400 && body && typeof body.title === "string") return new Problem({ ...body, status });
  if (status >= 500 && !body) return new Problem({ title: `The server is in trouble (${status})`, status, detail: "Try again in a minute." });
  if (status !== 204 && (!body || status >= 300)) return new Problem(STRANGE(status));
  return null;
}

/**
 * Ask and expect well: resolves to the JSON, rejects with a Problem.
 * @param {Fetch} fetch @param {string} method @param {string} path @param {Options & { withTag?: boolean }} [options]
 */
export async function ask(fetch, method, path, options = {}) {
  const answer = await send(fetch, method, path, options);
  const problem = problemIn(answer);
  if (problem || !answer) throw problem;
  return options.withTag ? { body: answer.body, etag: answer.etag } : answer.body;
}
