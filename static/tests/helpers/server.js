// A shop's server in memory, of the same wire shapes, whose answers a test can lose, delay or replace.
import { createHash } from "node:crypto";
import { foldAll } from "../../src/core/overlay.js";

/** @typedef {{ method: string, path: string, body: any, bytes: Uint8Array | null, device: string }} Asked */

const json = (/** @type {any} */ body, status = 200, headers = {}) => new Response(JSON.stringify(body),
  { status, headers: { "content-type": status < 400 ? "application/json" : "application/problem+json", ...headers } });

/** @param {number} status @param {string} title @param {any[]} [errors] */
export const problem = (status, title, errors = []) => json({ type: "about:blank", title, status, detail: title, errors }, status);
export const html = (status = 200) => new Response("<html>Please accept our terms</html>", { status, headers: { "content-type": "text/html" } });

const MACHINE = { type: "machine", id: "m", name: "Saw", revision: 1, retired: false, meters: [{ id: "h", kind: "spindle_hours" }] };
const PERSON = { type: "person", id: "p", name: "Ines", initials: "I", role: "member", revision: 1, retired: false };
const SHOP = { type: "shop", id: "s", name: "Shop", revision: 1, retired: false, time_zone: "UTC" };

export class Server {
  constructor() {
    /** @type {any[]} stored entries, with receipt; position = index + 1 */
    this.entries = [];
    /** @type {Map<string, Uint8Array>} */
    this.photos = new Map();
    /** @type {Asked[]} */
    this.asked = [];
    /** @type {any[]} */
    this.definitions = [SHOP, MACHINE, PERSON];
    this.largest = 2 * 2 ** 20;
    this.device = "d1";
    this.page = 500;
    this.epoch = "before";
    /** @type {(asked: Asked) => Response | null | Promise<Response | null>} decides before the server does; null: let it */
    this.before = () => null;
    /** @type {(asked: Asked, response: Response) => Response | Promise<Response>} what the phone gets to see */
    this.after = (_asked, response) => response;
    /** @type {(entry: any) => any[]} faults of an entry */
    this.check = () => [];
    /** @type {Map<string, number[]>} */
    this.seqs = new Map();
    /** @type {typeof globalThis.fetch} */
    this.fetch = async (input, init = {}) => {
      const path = String(input).replace("/api/v1", "");
      const { body = null } = init;
      const asked = { method: init.method ?? "GET", path, device: this.device,
        body: typeof body === "string" ? JSON.parse(body) : null,
        bytes: body instanceof ArrayBuffer ? new Uint8Array(body) : null };
      this.asked.push(asked);
      const size = typeof body === "string" ? body.length : 0;
      return this.after(asked, (await this.before(asked)) ?? this.answer(asked, size));
    };
  }

  /** @param {Asked} asked @param {number} size */
  answer({ method, path, body, bytes, device }, size) {
    if (path === "/session" && method === "DELETE") return new Response(null, { status: 204 });
    if (path.startsWith("/session")) return json(this.session());
    if (path === "/sync/push") return size > this.largest ? problem(413, "Too much at once") : this.push(body, device);
    if (path.startsWith("/sync/changes")) return this.changes(new URLSearchParams(path.split("?")[1]), device);
    if (path === "/sync/snapshot") return this.snapshot(device);
    const hash = path.slice("/photos/".length);
    if (method === "HEAD") return new Response(null, { status: this.photos.has(hash) ? 200 : 404 });
    if (!bytes || createHash("sha256").update(bytes).digest("hex") !== hash) return problem(422, "not the hash of what came");
    this.photos.set(hash, bytes);
    return new Response(null, { status: 204 });
  }

  session() {
    return { first_run: false, signed_in: true, owner: false, device: { id: this.device, name: "Phone" }, shop: "Shop", demo: false };
  }

  /** @param {any} sent @param {string} device */
  push(sent, device) {
    const maker = sent.made_on ?? device;
    const results = sent.entries.map((/** @type {any} */ entry) => {
      const held = this.entries.findIndex((one) => one.id === entry.id);
      const seqs = this.seqs.get(maker) ?? [];
      this.seqs.set(maker, [...seqs, entry.seq]);
      if (held >= 0) return { id: entry.id, outcome: "known", position: held + 1 };
      const errors = this.check(entry);
      if (errors.length) return { id: entry.id, outcome: "refused", problem: { title: "The entry was refused", status: 422, errors } };
      this.entries.push({ ...entry, receipt: { device: maker, received_at: new Date().toISOString(), offset_ms: 0 } });
      return { id: entry.id, outcome: "stored", position: this.entries.length };
    });
    return json({ results, head: this.entries.length, gaps: this.gaps(maker) });
  }

  /** @param {string} device @returns {[number, number][]} */
  gaps(device) {
    const seqs = new Set(this.seqs.get(device) ?? []);
    /** @type {[number, number][]} */
    const gaps = [];
    for (let seq = 1; seq < Math.max(0, ...seqs); seq++) if (!seqs.has(seq)) gaps.push([seq, seq]);
    return gaps;
  }

  /** @param {URLSearchParams} query @param {string} device */
  changes(query, device) {
    const after = Number(query.get("after"));
    if (after > this.entries.length || ![null, this.epoch].includes(query.get("epoch"))) return problem(410, "Brought back from a backup");
    const upto = Math.min(this.entries.length, after + Math.min(Number(query.get("limit")), this.page));
    const entries = this.entries.slice(after, upto).map((entry, index) => (
      entry.receipt.device === device ? { id: entry.id, position: after + index + 1 } : { ...entry, position: after + index + 1 }));
    const head = Math.max(after, upto);
    return json({ entries, definitions: [], state: this.state(), head, epoch: this.epoch, more: upto < this.entries.length, gaps: this.gaps(device) });
  }

  state() {
    const docs = structuredClone(foldAll(this.entries.map((entry) => ({ ms: Date.parse(entry.at), entry }))));
    const meters = {};
    for (const doc of [docs.shop, ...Object.values(docs.machines)]) {
      Object.assign(meters, doc.meters);
      delete (/** @type {any} */ (doc).meters);
    }
    return { meters, ...docs };
  }

  /** @param {string} device */
  snapshot(device) {
    const of = (/** @type {string} */ type) => this.definitions.filter((one) => one.type === type).map(({ type: _, ...rest }) => rest);
    return json({
      definitions: { shop: of("shop")[0] ?? null, bays: [], machines: of("machine"), checklists: [], tasks: [], items: [], people: of("person") },
      state: this.state(), entries: this.entries.map((entry, index) => ({ ...entry, position: index + 1 })),
      head: this.entries.length, epoch: this.epoch, gaps: this.gaps(device),
    });
  }

  pushes() {
    return this.asked.filter(({ path }) => path === "/sync/push");
  }
}
