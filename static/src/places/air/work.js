// What a piece of work asks for, from the cards on this phone: pure, the screens only show it.
import { mattering, share } from "../../core/alloys.js";
import { describe, judge } from "../../core/hazards.js";
import { figure } from "../../kit/numbers.js";

/** @typedef {any} Cards the library's cards (webapp/library/cards.py) */
/** @typedef {{ process: string, alloy: string, medium?: string, flags?: string[], surface?: string[], last?: string[], measures?: Record<string, number> }} Choice `alloy`: a key, or UNKNOWN */
/** @typedef {import("../../core/hazards.js").Demands} Demands */

/** Chosen where nobody can say which metal it is. */
export const UNKNOWN = "unknown";

/** The work that a machine is for, the usual first: by its starter, else by its family. @type {Record<string, string[]>} */
const WORK_OF = {
  belt_sander: ["dry_sand", "wet_sand", "polish", "deburr"],
  bench_grinder: ["grind", "polish", "deburr"],
  lathe: ["turn", "drill", "deburr"],
  ultrasonic_cleaner: ["ultrasonic"],
  dust_collector: ["vacuum", "sweep"],
  air_gun: ["air_clean"],
  saw: ["saw"],
  mill: ["mill", "drill", "deburr"],
  sander: ["dry_sand", "wet_sand", "grind", "polish", "deburr"],
  cabinet: ["blast"],
  compressor: ["air_clean"],
};

/** Keys of the processes that are usual at a machine. @param {{ [key: string]: any } | null} machine @returns {string[]} */
export const usualWork = (machine) => (machine ? WORK_OF[machine.starter] ?? WORK_OF[machine.family] ?? [] : []);

/** A machine's processes first, then the others, as options. @param {Cards} cards @param {{ [key: string]: any } | null} machine */
export function processOptions(cards, machine) {
  const usual = usualWork(machine).filter((key) => key in cards.processes);
  const others = Object.keys(cards.processes).filter((key) => !usual.includes(key));
  return [...usual, ...others].map((value) => ({ value, text: cards.processes[value].name }));
}

/** "C17200 Beryllium copper 25". @param {Cards} cards @param {string} key */
export function alloyName(cards, key) {
  if (key === UNKNOWN) return "Nobody can say which metal";
  const alloy = cards?.alloys[key] ?? (cards && cards.alloys[alloyCalled(cards, key) ?? ""]);
  if (!alloy) return key;
  return alloy.uns ? `${alloy.uns} ${alloy.name}` : alloy.name;
}

/** The card of an alloy as a batch names it: by key, UNS number, name or another name. @param {Cards} cards @param {string | null | undefined} said @returns {string | null} its key */
export function alloyCalled(cards, said) {
  const wanted = String(said ?? "").trim().toLowerCase();
  if (!wanted) return null;
  // A key counts before a UNS number: that may stand on a certificate of the shop's own too.
  const key = Object.keys(cards.alloys).find((one) => one.toLowerCase() === wanted);
  if (key) return key;
  const found = Object.entries(cards.alloys).find(([, one]) =>
    [one.uns, one.name, ...(one.also ?? [])].some((name) => name && String(name).toLowerCase() === wanted));
  return found ? found[0] : null;
}

/** Alloys to choose from: the shop's own first, then those used lately, then by family; none that is out of use. @param {Cards} cards @param {string[]} lately @param {{ unknown?: boolean }} [more] */
export function alloyOptions(cards, lately, { unknown = false } = {}) {
  const keys = Object.keys(cards.alloys).filter((key) => !cards.alloys[key].retired);
  const own = keys.filter((key) => cards.alloys[key].certificate);
  const first = [...own, ...lately.filter((key) => keys.includes(key) && !own.includes(key))];
  const rest = keys.filter((key) => !first.includes(key));
  const options = [...first, ...rest].map((value) => ({ value, text: alloyName(cards, value) }));
  return unknown ? [...options, { value: UNKNOWN, text: alloyName(cards, UNKNOWN) }] : options;
}

/** Media to choose from; one that is refused says so. @param {Cards} cards */
export const mediumOptions = (cards) =>
  Object.entries(cards.media).map(([value, one]) => ({ value, text: one.refused ? `${one.name} (refused)` : one.name }));

/** @param {Cards} cards @param {Choice} choice */
function situation(cards, choice) {
  const alloy = cards.alloys[choice.alloy] ?? null;
  const last = (choice.last ?? []).flatMap((key) => (cards.alloys[key] ? [cards.alloys[key]] : []));
  return describe(choice.process, alloy, cards.elements, {
    medium: choice.medium || null, last, surface: choice.surface ?? [], flags: choice.flags ?? [], measures: choice.measures ?? {},
  });
}

/**
 * What all rules ask of it; null while there is too little to judge by. A medium that the library refuses stops it.
 * @param {Cards | null} cards @param {Choice} choice @returns {Demands | null}
 */
export function demandsOf(cards, choice) {
  if (!cards || !choice.process || !choice.alloy) return null;
  const found = judge(cards, situation(cards, choice));
  const refused = choice.process === "blast" && choice.medium ? cards.media[choice.medium]?.refused : null;
  if (!refused || found.stops.length) return found;
  return { ...found, stops: [{ rule: `medium.${choice.medium}`, text: refused.text }] };
}

/** @param {Demands | null} one @param {Demands | null} other */
const differ = (one, other) => (one?.rules ?? []).join() !== (other?.rules ?? []).join();

/**
 * Which conditions of the set-up change what is asked, and so are asked about: none is put that changes nothing.
 * @param {Cards} cards @param {Choice} choice @returns {{ flags: string[], surfaces: string[], measures: string[] }}
 */
export function askedAbout(cards, choice) {
  if (!choice.process || !choice.alloy) return { flags: [], surfaces: [], measures: [] };
  const { flags = [], surface = [], measures = {} } = choice;
  const without = (/** @type {string[]} */ list, /** @type {string} */ key) => list.filter((one) => one !== key);
  const matters = (/** @type {Partial<Choice>} */ on, /** @type {Partial<Choice>} */ off) =>
    differ(demandsOf(cards, { ...choice, ...on }), demandsOf(cards, { ...choice, ...off }));
  return {
    flags: Object.keys(cards.flags).filter((key) => key !== "unknown_metal" && matters({ flags: [...without(flags, key), key] }, { flags: without(flags, key) })),
    surfaces: Object.keys(cards.surfaces).filter((key) => matters({ surface: [...without(surface, key), key] }, { surface: without(surface, key) })),
    measures: Object.keys(cards.measures).filter((key) => matters({ measures: { ...measures, [key]: 1e6 } }, { measures: Object.fromEntries(Object.entries(measures).filter(([name]) => name !== key)) })),
  };
}

/** Entries that count as they stand now. @param {import("../../store/types.js").ListedEntry[]} entries @param {string} kind */
export const counting = (entries, kind) => entries.filter((entry) => entry.kind === kind && !entry.voided);

/** @param {import("../../store/types.js").ListedEntry} entry */
export const bodyOf = (entry) => entry.amended ?? entry.body;

/**
 * Alloys of batches, the newest first, each once, with the machines it ran at.
 * @param {Cards} cards @param {import("../../store/types.js").ListedEntry[]} entries newest first @param {(at: string) => boolean} within
 * @returns {{ alloy: string, machines: string[], at: string }[]}
 */
export function alloysRun(cards, entries, within) {
  /** @type {Map<string, { alloy: string, machines: string[], at: string }>} */
  const found = new Map();
  for (const entry of counting(entries, "batch.run")) {
    const alloy = alloyCalled(cards, bodyOf(entry).alloy);
    if (!alloy || !within(entry.at)) continue;
    const row = found.get(alloy) ?? { alloy, machines: [], at: entry.at };
    if (entry.machine && !row.machines.includes(entry.machine)) row.machines.push(entry.machine);
    found.set(alloy, row);
  }
  return [...found.values()];
}

/** Alloys that ran before at one machine, and whose dust may still lie in it. @param {Cards} cards @param {import("../../store/types.js").ListedEntry[]} entries @param {string} machine @param {string} alloy the one that is about to run */
export const ranBefore = (cards, entries, machine, alloy) =>
  alloysRun(cards, entries.filter((entry) => entry.machine === machine), () => true).map((row) => row.alloy).filter((key) => key !== alloy);

/** "1.8 to 2 %", "at most 0.6 %", "the rest". @param {import("../../core/alloys.js").Constituent} part */
export function sayPart(part) {
  if (part.rest) return "the rest";
  const { low, high, nominal } = part;
  if (low !== undefined && high !== undefined) return low === high ? `${figure(low, 4)} %` : `${figure(low, 4)} to ${figure(high, 4)} %`;
  if (high !== undefined) return `at most ${figure(high, 4)} %`;
  if (low !== undefined) return `at least ${figure(low, 4)} %`;
  return nominal !== undefined ? `about ${figure(nominal, 4)} %` : "not stated";
}

/** What in an alloy matters for health: "Lead up to 3.7 %". @param {Cards} cards @param {string} key @returns {{ symbol: string, name: string, high: number, said: string }[]} */
export function matters(cards, key) {
  const alloy = cards.alloys[key];
  if (!alloy) return [];
  return mattering(alloy.composition, cards.elements).map(({ symbol, high }) => {
    const { name } = cards.elements[symbol];
    const part = share(alloy.composition, symbol);
    const main = part && part.low >= 50;
    return { symbol, name, high, said: main ? `${name}, the base` : `${name} up to ${figure(high, 4)} %` };
  });
}

/** What stands beside a value whose publication itself was not seen. @type {Record<string, string>} */
const CAVEATS = { "second-hand": "commonly cited, confirm", "from memory": "from memory: confirm" };

/** A source as one line, and what must stand beside its value (empty when the publication was seen). @param {Cards} cards @param {string} key @returns {{ text: string, caveat: string }} */
export function sourceOf(cards, key) {
  const source = cards.sources[key];
  if (!source) return { text: key, caveat: CAVEATS["second-hand"] };
  return { text: `${source.text}; ${source.where}; ${source.dated}`, caveat: CAVEATS[source.mark] ?? "" };
}
