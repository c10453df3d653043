// Choosing machines from the starter library and standing them in the shop.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, ButtonLink, Empty, Icon, Notice, SelectField, StateMark, TextField, counted, iconOf, where } from "../../kit/index.js";
import { ask, definitions, Problem, syncNow } from "../../store/index.js";
import { inUse } from "../standing.js";
import { useDraft, useKeeping } from "./drafts.js";
import { hindrance, SetupPage } from "./frame.js";
import { named } from "./naming.js";
import { NEW_BAY, newBayName, newBays, nextName, sameBay } from "./standing-names.js";

/**
 * @typedef {{ key: string, name: string, family: string, checks: number, tasks: number, items: number, minutes: number }} Starter
 * @typedef {{ key: string, name: string, bay: string, newBay: string, error?: string | null, bayError?: string | null }} Wish
 * @typedef {{ name: string, state: "waits" | "stands" | "failed", why?: string }} Progress
 */

/** The library, as the server has it. @returns {{ starters: Starter[] | null, problem: string | null }} */
function useLibrary() {
  const [starters, setStarters] = useState(/** @type {Starter[] | null} */ (null));
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const away = hindrance() === "no server";
  useEffect(() => {
    if (away || starters) return;
    ask("GET", "/library/machines").then((all) => { setStarters(all); setProblem(null); }, (error) => setProblem(error.message));
  }, [away]);
  return { starters, problem };
}

/** @param {Starter} starter */
const holds = ({ checks, tasks }) => `${counted(checks, "check")}, ${counted(tasks, "task")}`;

/** @param {{ starter: Starter, wishes: Wish[], onAdd: () => void }} props */
function StarterRow({ starter, wishes, onAdd }) {
  const chosen = wishes.filter((wish) => wish.key === starter.key).length;
  return html`<button type="button" class=${`starter${chosen ? " starter-on" : ""}`} onClick=${onAdd} aria-label=${`Add ${starter.name}${chosen ? `, ${chosen} chosen` : ""}`}>
    <${Icon} name=${iconOf({ family: starter.family, starter: starter.key, name: "" })} size=${40} />
    <span class="starter-name"><b>${starter.name}</b><span class="soft">${holds(starter)}</span></span>
    <span class="starter-count num" aria-hidden="true">${chosen ? `× ${chosen}` : "+"}</span></button>`;
}

/** @param {{ wish: Wish, starter: Starter | undefined, bays: { value: string, text: string }[], onChange: (some: Partial<Wish>) => void, onDrop: () => void }} props */
function WishRow({ wish, starter, bays, onChange, onDrop }) {
  return html`<li class="wish"><div class="wish-head"><${Icon} name=${iconOf({ family: starter?.family, starter: wish.key })} size=${32} /><b>${starter?.name}</b>
      <${Button} plain onPress=${onDrop}>Take out<//></div>
    <div class="wish-fields"><${TextField} label="Called" value=${wish.name} error=${wish.error} maxLength=${80} onValue=${(/** @type {string} */ name) => onChange({ name, error: null })} />
    <${SelectField} label="Bay" optional blank="No bay" value=${wish.bay} options=${[...bays, { value: NEW_BAY, text: "A new bay…" }]} onValue=${(/** @type {string} */ bay) => onChange({ bay })} />
    ${wish.bay === NEW_BAY && html`<${TextField} label="Name of the new bay" value=${wish.newBay} error=${wish.bayError} maxLength=${80} focus onValue=${(/** @type {string} */ newBay) => onChange({ newBay, bayError: null })} />`}</div></li>`;
}

/** What is wrong with the names. @param {Wish[]} wishes @returns {Wish[] | null} null when all are well */
function faulty(wishes) {
  const taken = new Set(inUse(definitions.value.machines).map((one) => String(one.name).trim().toLowerCase()));
  let wrong = false;
  const checked = wishes.map((wish) => {
    const name = wish.name.trim().toLowerCase();
    const error = named(wish.name, "The name", 80) ?? (taken.has(name) ? `${wish.name.trim()} stands in the shop already. Give it another name.` : null);
    const bayError = wish.bay === NEW_BAY ? named(wish.newBay, "The bay's name", 80) : null;
    taken.add(name);
    wrong ||= Boolean(error || bayError);
    return { ...wish, error, bayError };
  });
  return wrong ? checked : null;
}

/** The bay's id: chosen, known by its name, or made now. @param {Wish} wish @param {Map<string, string>} made by name */
async function bayOf(wish, made) {
  const name = newBayName(wish);
  if (name === null) return wish.bay || null;
  const known = made.get(sameBay(name)) ?? inUse(definitions.value.bays).find((bay) => sameBay(String(bay.name)) === sameBay(name))?.id;
  if (known) return known;
  const bay = await ask("POST", "/definitions/bay", { name });
  made.set(sameBay(name), bay.id);
  return bay.id;
}

/**
 * Stand one machine after the other, so that what has succeeded stays whatever comes after it.
 * @param {Wish[]} wishes @param {(progress: Progress[]) => void} tell @returns {Promise<Wish[]>} what did not stand
 */
async function standAll(wishes, tell) {
  /** @type {Progress[]} */
  const progress = wishes.map(({ name }) => ({ name: name.trim(), state: "waits" }));
  const made = new Map();
  const left = [];
  for (const [index, wish] of wishes.entries()) {
    try {
      await ask("POST", `/library/machines/${wish.key}/stand`, { name: wish.name.trim(), bay: await bayOf(wish, made) });
      progress[index] = { ...progress[index], state: "stands" };
    } catch (error) {
      progress[index] = { ...progress[index], state: "failed", why: error instanceof Problem ? error.detail : String(error) };
      left.push(wish);
    }
    tell([...progress]);
  }
  await syncNow();
  return left;
}

/** @param {{ progress: Progress[] }} props */
function Standing({ progress }) {
  const done = progress.filter(({ state }) => state !== "waits").length;
  return html`<div class="stack" role="status"><p>Standing machines: <b class="num">${done}</b> of <b class="num">${progress.length}</b>.</p>
    <progress class="progress" max=${progress.length} value=${done}></progress><${Outcome} progress=${progress} /></div>`;
}

/** @param {{ progress: Progress[] }} props */
function Outcome({ progress }) {
  return html`<ul class="lines-plain">${progress.map(({ name, state, why }) => html`<li key=${name}>${state === "waits" ? html`<span class="soft">${name}</span>`
    : html`<${StateMark} mark=${state === "stands" ? "fit" : "late"} word=${state === "stands" ? `${name} stands` : `${name} does not stand yet: ${why}`} />`}</li>`)}</ul>`;
}

/** What comes next, once machines stand. @param {{ progress: Progress[], onMore: () => void }} props */
function Next({ progress, onMore }) {
  const steps = [
    ["#/log/meter", "Read the meters once", "Hour meters and counters as they show now: rules by spindle hour or cut area count from there."],
    ["#/log/stock", "Count the drawer", "How many spares there are: each part change takes one off and says when to order."],
    ["#/setup/people", "Add the others", "Everybody who walks rounds, with initials and, if they like, a PIN."],
    ["#/setup/devices", "Join a phone", "A code to point the phone's camera at."],
    ["#/setup/machines", "Set the bands to your own figures", "What the library brings are starting figures: the makers' manuals replace them."],
  ];
  return html`<div class="stack"><${Outcome} progress=${progress} /><h2 class="section-head">What to do next</h2>
    <ol class="next">${steps.map(([href, title, text]) => html`<li key=${href}><a href=${href}>${title}</a><span class="soft">${text}</span></li>`)}</ol>
    <div class="row"><${ButtonLink} href="#/today">Go to Today<//><${Button} line onPress=${onMore}>Stand more machines<//></div></div>`;
}

/** The list to choose from and what was chosen. @param {{ starters: Starter[], wishes: Wish[], onWishes: (wishes: Wish[]) => void, onStand: () => unknown }} props */
function Choosing({ starters, wishes, onWishes, onStand }) {
  const bays = inUse(definitions.value.bays).map(({ id, name }) => ({ value: id, text: String(name) }));
  const taken = [...inUse(definitions.value.machines).map((one) => String(one.name)), ...wishes.map((wish) => wish.name)];
  const add = (/** @type {Starter} */ starter) => {
    const before = wishes[wishes.length - 1];
    onWishes([...wishes, { key: starter.key, name: nextName(starter.name, taken), bay: before?.bay ?? "", newBay: before?.newBay ?? "" }]);
  };
  const change = (/** @type {number} */ at, /** @type {Partial<Wish>} */ some) => onWishes(wishes.map((wish, index) => (index === at ? { ...wish, ...some } : wish)));
  return html`<div class="stand-grid"><div class="stack"><p>Press a machine to add it; press twice for two of them.</p>
      <div class="starters">${starters.map((starter) => html`<${StarterRow} key=${starter.key} starter=${starter} wishes=${wishes} onAdd=${() => add(starter)} />`)}</div>
      ${wishes.length > 0 && html`<div class="save-bar narrow"><${Button} onPress=${() => document.getElementById("chosen")?.scrollIntoView()}>${`${counted(wishes.length, "machine")} chosen: go on`}<//></div>`}</div>
    <div class="stand-side stack"><h2 class="section-head" id="chosen">Chosen</h2>
      ${wishes.length ? html`<ul class="wishes">${wishes.map((wish, index) => html`<${WishRow} key=${index} wish=${wish} bays=${[...bays, ...newBays(wishes.filter((_, other) => other !== index))]} starter=${starters.find(({ key }) => key === wish.key)}
        onChange=${(/** @type {Partial<Wish>} */ some) => change(index, some)} onDrop=${() => onWishes(wishes.filter((_, other) => other !== index))} />`)}</ul>
        <${Button} big off=${hindrance() !== null} onPress=${onStand}>${wishes.length === 1 ? "Stand it in the shop" : `Stand all ${wishes.length} in the shop`}<//>`
    : html`<${Empty}>Nothing yet.<//>`}</div></div>`;
}

export function Stand() {
  const { starters, problem } = useLibrary();
  const [wishes, setWishes] = useState(/** @type {Wish[]} */ ([]));
  const [progress, setProgress] = useState(/** @type {Progress[] | null} */ (null));
  const [over, setOver] = useState(false);
  const fresh = where.value.query.get("new") === "1";
  const { kept } = useDraft("stand", "new");
  useKeeping("stand", null, wishes, []);
  useEffect(() => { if (kept) setWishes(kept.values); }, [kept]);
  const stand = async () => {
    const wrong = faulty(wishes);
    if (wrong) return setWishes(wrong);
    setProgress(wishes.map(({ name }) => ({ name, state: "waits" })));
    setWishes(await standAll(wishes, setProgress));
    return setOver(true);
  };
  const more = () => {
    setProgress(null);
    setOver(false);
  };
  const title = over ? "Your machines" : fresh ? "Choose your machines" : "Add machines";
  return html`<${SetupPage} title=${title} on="machines" back=${fresh ? "#/setup" : "#/setup/machines"}>
    ${progress && !over && html`<${Standing} progress=${progress} />`}
    ${progress && over && html`<${Next} progress=${progress} onMore=${more} />`}
    ${!progress && (starters ? html`<${Choosing} starters=${starters} wishes=${wishes} onWishes=${setWishes} onStand=${stand} />`
    : problem ? html`<${Notice} live title="The starter library did not come.">${problem}<//>` : html`<${Empty}>The starter library is on its way.<//>`)}<//>`;
}
