// The round runner: one check at a time; what is begun survives a reload.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { ButtonLink, Icon, Notice, Page, StateMark } from "../kit/index.js";
import { definitions, dropDraft, loadDraft, newId, person, record, saveDraft } from "../store/index.js";
import { dayOf } from "../core/facts.js";
import { docOf } from "./standing.js";
import { sayLast } from "./readings.js";
import { allStandings, calendar, world } from "./world.js";
import { answerOf, backward, endOf, entriesOf, newRun, onward, withAnswer } from "./round/run.js";
import { CheckScreen } from "./round/check.js";
import { HeldScreen, SignOffSaid, TimerLink, isDoorCheck } from "./air/hold.js";
import { doorHeld } from "./air/purge-copies.js";
import { usePurge } from "./air/purge-use.js";
import { Scanned } from "./round/scanned.js";
import { FindingScreen } from "./round/finding.js";
import { EndedScreen, SummaryScreen, sayEnd } from "./round/summary.js";

/** @typedef {import("./round/run.js").Run} Run */
/** @typedef {import("../store/types.js").Definition} Definition */

/** A round begun today under the same revision goes on where it stopped. @param {any} draft @param {Definition} checklist @returns {Run | null} */
function usable(draft, checklist) {
  const { zone, today } = calendar.value;
  if (!draft || draft.checklist !== checklist.id || draft.revision !== checklist.revision) return null;
  return dayOf(draft.started_at, zone) === today ? draft : null;
}

/** The run and its draft. @param {Definition} checklist @param {string} key */
function useRun(checklist, key) {
  const [run, setRun] = useState(/** @type {Run | null} */ (null));
  useEffect(() => {
    let here = true;
    const begin = (/** @type {any} */ draft) => here && setRun(usable(draft, checklist) ?? newRun(checklist, new Date()));
    loadDraft(key).then(begin, () => begin(null));
    return () => {
      here = false;
    };
  }, [key]);
  /** @param {Run} next */
  const keep = (next) => {
    setRun(next);
    saveDraft(key, next).catch(() => {}); // the carry line says when this phone's storage fails
  };
  return { run, keep };
}

/** @param {{ parts: string[] }} props */
export default function RoundPlace({ parts }) {
  const [machineId = "", checklistId = ""] = parts;
  const machine = definitions.value.byId.get(machineId) ?? null;
  const checklist = definitions.value.byId.get(checklistId) ?? null;
  if (machine?.meters && !checklistId) return html`<${Scanned} machine=${machine} />`;
  if (!checklist || (machineId !== "shop" && !machine)) {
    return html`<${Page} title="Round" back="#/today"><${Notice} title="This checklist is not on this phone.">
      It may have been taken out, or this phone has not heard of it yet.<//><${ButtonLink} href="#/today">Today<//><//>`;
  }
  return html`<${Round} machine=${machine ?? { id: "", name: "The shop", cautions: [] }} checklist=${checklist} />`;
}

/** @param {{ machine: Definition, checklist: Definition }} props */
function Round({ machine, checklist }) {
  const { run, keep } = useRun(checklist, `round/${machine.id}/${checklist.id}`);
  const [ended, setEnded] = useState(/** @type {{ said: string, fit: boolean, who: string, seconds: number } | null} */ (null));
  const count = checklist.checks.length;
  const at = !run || ended || run.phase === "summary" ? "" : `${run.index + 1} of ${count}`;
  return html`<div class="round">
    <header class="page-head"><a class="page-back" href="#/today" aria-label="Leave; what is begun is kept"><${Icon} name="back" /></a>
      <div class="page-title"><h1 tabindex="-1">${machine.name}</h1><div class="page-aside">${checklist.name}${at && html`, <span class="num">${at}</span>`}</div></div></header>
    <${Pips} run=${run} count=${count} ended=${Boolean(ended)} checklist=${checklist} />
    ${ended && html`<${EndedScreen} ...${ended} next=${nextRound(machine.id)} follow=${followUps(machine)} />`}
    ${!ended && run && html`<${Phase} run=${run} keep=${keep} machine=${machine} checklist=${checklist} onEnded=${setEnded} />`}
  </div>`;
}

/** One mark a check. @param {{ run: Run | null, count: number, ended: boolean, checklist: Definition }} props */
function Pips({ run, count, ended, checklist }) {
  const now = run && !ended && run.phase !== "summary" ? run.index : -1;
  const look = (/** @type {number} */ i) => {
    if (i === now) return "now";
    const answer = run ? answerOf(run, checklist.checks[i].id).answer : null;
    return answer === "not ok" ? "bad" : answer ? "done" : "";
  };
  return html`<div class="pips" aria-hidden="true">${Array.from({ length: count }, (_, i) => html`<i key=${i} class=${look(i)}></i>`)}</div>`;
}

/** The next machine whose start-up round waits. @param {string} here */
function nextRound(here) {
  const next = allStandings.value.find(({ machine, startUp, mark }) =>
    machine && machine.id !== here && startUp && startUp.due.state !== "resting" && mark !== "tagged");
  return next?.machine && next.startUp ? { name: next.machine.name, href: `#/round/${next.machine.id}/${next.startUp.checklist.id}` } : null;
}

/** Readings out of their band that a fluid can mend. @param {Definition} machine */
function followUps(machine) {
  const standing = allStandings.value.find((one) => one.machine?.id === machine.id);
  return (standing?.lines ?? []).filter((line) => line.href?.startsWith("#/log/coolant"));
}

/** Cautions of the round stand at its first check, before anything is touched. @param {Definition} machine @param {Definition} checklist @param {number} index */
function cautionsAt(machine, checklist, index) {
  const check = checklist.checks[index];
  if (index > 0) return [check.caution];
  const tasks = definitions.value.tasks.filter((task) => task.checklist === checklist.id && !task.retired);
  return [check.caution, ...tasks.flatMap((task) => task.cautions ?? []), ...(machine.cautions ?? [])];
}

/** @param {{ run: Run, keep: (run: Run) => void, machine: Definition, checklist: Definition, onEnded: (ended: any) => void }} props */
function Phase({ run, keep, machine, checklist, onEnded }) {
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const doc = docOf(world.value, machine.id ? machine : null);
  const count = checklist.checks.length;
  const check = checklist.checks[run.index];
  const who = String(person.value?.name ?? "Somebody");
  const { kept: purge, ready } = usePurge(checklist.checks.some(isDoorCheck) ? machine.id : "");
  const finish = async () => {
    const seconds = Math.max(0, (Date.now() - Date.parse(run.started_at)) / 1000);
    const end = endOf(run, checklist, doc);
    try {
      await record(entriesOf({ run, checklist, doc, machine: machine.id, seconds, newId }));
    } catch (error) {
      setProblem(`The round is not in the record: ${error instanceof Error ? error.message : error} Press Finish again.`);
      return;
    }
    await dropDraft(`round/${machine.id}/${checklist.id}`).catch(() => {}); // a stale draft is only offered again today
    history.replaceState(null, "", "#/"); // a reload now leads to Today, not into a second round
    onEnded({ said: sayEnd(machine.name, checklist, end), fit: end.reasons.length === 0, who, seconds });
  };
  if (run.phase === "summary") {
    return html`<${SummaryScreen} run=${run} checklist=${checklist} doc=${doc} machine=${machine} who=${who} problem=${problem}
      onFinish=${finish} onBack=${() => keep(backward(run))} />`;
  }
  if (run.phase === "finding") {
    return html`<${FindingScreen} key=${check.id} check=${check} answer=${answerOf(run, check.id)} machine=${machine.name} onBack=${() => keep(backward(run))}
      onKeep=${(/** @type {import("./round/run.js").Finding} */ finding, /** @type {boolean} */ end) => {
        const next = withAnswer(run, check.id, { finding });
        keep(end ? { ...next, phase: "summary" } : onward(next, count));
      }} />`;
  }
  if (machine.id && isDoorCheck(check) && (!ready || doorHeld(purge))) return html`<${HeldScreen} check=${check} machine=${machine} kept=${purge} first=${run.index === 0} onBack=${() => keep(backward(run))} />`;
  const { zone, today } = calendar.value;
  const last = sayLast(doc.checks[checklist.id]?.[check.id] ?? [], zone, today);
  return html`${run.index === 0 && html`<${Stopped} doc=${doc} /><${SignOffSaid} machine=${machine} />`}${isDoorCheck(check) && html`<${TimerLink} machine=${machine} />`}<${CheckScreen} check=${check} run=${run} last=${last}
    cautions=${cautionsAt(machine, checklist, run.index)} onBack=${() => keep(backward(run))}
    onChange=${(/** @type {any} */ some) => keep(withAnswer(run, check.id, some))}
    onAnswer=${(/** @type {any} */ given) => keep(answered(run, check.id, given, count))} />`;
}

/** @param {Run} run @param {string} check @param {Partial<import("./round/run.js").Answer>} given @param {number} count */
function answered(run, check, given, count) {
  const plain = { ...answerOf(run, check), value: undefined, verdict: undefined, finding: undefined, ...given };
  const next = { ...run, answers: { ...run.answers, [check]: plain } };
  if (given.answer === "not ok") return { ...next, phase: /** @type {const} */ ("finding") };
  return onward(next, count);
}

/** Said at the start: this round cannot end fit. @param {{ doc: import("../core/fold.js").Doc }} props */
function Stopped({ doc }) {
  const tag = Object.values(doc.tags)[0];
  const stop = Object.values(doc.findings).find((finding) => finding.stop);
  if (!tag && !stop) return null;
  return html`<div class="round-stopped"><${StateMark} mark=${tag ? "tagged" : "stop"} word=${`${tag ? tag.why : stop.text}: this round cannot end fit`} /></div>`;
}
