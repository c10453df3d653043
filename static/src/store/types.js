// The shapes that travel between the store, the server and the screens. DEVELOPERS.md is their contract.

/**
 * @typedef {{ id: string, kind: string, machine: string | null, by: string, at: string, seq: number, body: any }} Entry
 * @typedef {{ kind: string, machine?: string | null, body: any, id?: string, at?: string, by?: string }} NewEntry
 *   `id` may be given when another entry made at the same time names it; `at` is now, and `by` the person of this tab, unless given.
 * @typedef {Entry & { unsent?: boolean, voided?: boolean, amended?: any, position?: number, receipt?: any }} ListedEntry
 *   `amended`: the newest body, when the entry was amended.
 * @typedef {{ field: string, problem: string, mend: string }} Fault
 * @typedef {{ title: string, status?: number, detail?: string, errors?: Fault[] }} Problem
 * @typedef {{ id: string, entry: Entry, problem: Problem, at: string, made_on: string | null }} TrayItem
 * @typedef {{ n?: number, id: string, entry: Entry, made_on: string | null }} OutboxRow
 * @typedef {{ id: string, ms: number, machine: string, position: number | null, entry: Entry, made_on?: string | null }} EntryRow
 *   `made_on` is there when this phone sent it: null for its own, else the device whose file was read in here.
 * @typedef {{ sha256: string, state: "waiting" | "failed", why: string | null }} UploadRow
 * @typedef {{ id: string, revision: number, retired: boolean, [key: string]: any }} Definition
 * @typedef {{ shop: Definition | null, bays: Definition[], machines: Definition[], checklists: Definition[],
 *   tasks: Definition[], items: Definition[], people: Definition[], alloys: Definition[], byId: Map<string, Definition> }} Definitions
 * @typedef {import("../core/fold.js").Doc} Doc
 * @typedef {import("../core/fold.js").Meter} Meter
 * @typedef {{ meters: Record<string, Meter>, machines: Record<string, Doc>, shop: Doc }} State
 * @typedef {"here" | "no signal" | "sign in again" | "app too old" | "server trouble"} Link
 * @typedef {{ id: string, name: string }} Device
 * @typedef {{ phase: "starting" | "unreachable" | "first run" | "not joined" | "joined", owner: boolean,
 *   device: Device | null, shop: string | null, demo: boolean, checked: boolean }} Session
 *   `checked`: the server has answered since this page was opened.
 * @typedef {{ salt: string, iterations: number, hash: string }} Pin
 * @typedef {{ id: string, person: string, kind: string, weight: "plain" | "quiet", what: string, where: string, minutes: number | null, why: string, link: string,
 *   machine: string | null, task: string | null, opened_at: string, told_at: string | null, snoozed_until: string | null }} Reminder
 * @typedef {{ as_of: string, reminders: Reminder[], troubles: { job: string, since: string, said: string }[] }} Reminders
 * @typedef {{ key: string, value: any, at: string }} Draft
 * @typedef {{ sha256: string, kept: boolean, why: string | null }} Photo
 */

export {};
