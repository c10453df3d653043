// One machine: whether it is fit today, what wants doing, and a dial for everything that runs toward due.
import { html } from "htm/preact";
import {
  BandStrip, ButtonLink, Cautions, Dial, Empty, Facts, Icon, Page, Section, StateMark, figure, iconOf, sayDay, sayWhen,
} from "../kit/index.js";
import { definitions } from "../store/index.js";
import { dayOf } from "../core/facts.js";
import { isCabinet } from "./air/cabinet.js";
import { Bundles } from "./ahead/bundles.js";
import { arcFor, basisOf, toldOf } from "./ahead/kept.js";
import { Upcoming, usedOf } from "./ahead/upcoming.js";
import { WeekOfUse } from "./ahead/use.js";
import { LastEntries } from "./entries.js";
import { lifeOf } from "./life.js";
import { initialsOf } from "./names.js";
import { judgeReading } from "./readings.js";
import { dialOf, quantityOf, sayDue, standingOf } from "./standing.js";
import { partHint } from "./wearing/hint.js";
import { calendar, world } from "./world.js";

/** @typedef {import("./standing.js").Standing} Standing */
/** @typedef {import("../store/types.js").Definition} Definition */

/** @param {{ standing: Standing }} props */
function Fitness({ standing }) {
  const { machine, fit, why, startUp, doc, mark } = standing;
  if (!machine) return null;
  const round = startUp && startUp.due.state !== "resting" && mark !== "tagged";
  const stopped = mark === "tagged" || mark === "stop";
  const shown = fit ? "fit" : mark === "tagged" ? "tagged" : round ? "due" : startUp || stopped ? "stop" : "resting";
  const word = fit ? "Fit to start" : startUp || stopped ? "Not fit to start" : "No start-up round";
  const last = startUp && doc.rounds[startUp.checklist.id];
  const [tag] = Object.keys(doc.tags);
  return html`<${Section} area="fit"><div class="fitness"><${StateMark} mark=${shown} word=${word} size=${34} />${(startUp || stopped) && html`<p>${why}</p>`}
      ${last && html`<p class="soft">Last start-up round ${sayWhen(last.at, { zone: calendar.value.zone, now: world.value.now })}, ${initialsOf(last.by)}: ${last.outcome}.</p>`}</div>
    <div class="row">${round && startUp && html`<${ButtonLink} href=${`#/round/${machine.id}/${startUp.checklist.id}`}>Start the round<//>`}
      ${tag && html`<${ButtonLink} href=${`#/tag/${machine.id}/${tag}`}>Take the tag off<//>`}
      <${ButtonLink} line href=${`#/tag/${machine.id}`}>${tag ? "Put another tag on" : "Put a tag on"}<//><${ButtonLink} line href=${`#/finding/${machine.id}`}>Something is wrong<//></div><//>`;
}

/** Tags, findings and what wants doing, each a way in. @param {{ standing: Standing }} props */
function Wants({ standing }) {
  const { lines } = standing;
  if (!lines.length) return null;
  return html`<${Section} title="Wants doing" area="wants"><ul class="wants">${lines.map(
    (line) => html`<li key=${line.href + line.text}><a href=${line.href}><${StateMark} mark=${line.mark} word=${line.text} /></a></li>`,
  )}</ul><//>`;
}

/** When a task falls due, in a few words. @param {import("./standing.js").Judged} judged */
function whenDue({ task, due }) {
  if (due.state === "late" || due.state === "due") return sayDue(due);
  const { said, silent } = toldOf(task);
  if (!silent) return said;
  return (due.due_on ? sayDay(due.due_on, calendar.value.today) : sayDue(due)) || due.why;
}

/** What the date rests on, below the dial; nothing where the record alone says that it is due. @param {import("./standing.js").Judged} judged */
function restsOn({ task, due }) {
  if (due.state === "late" || due.state === "due") return "";
  return basisOf(task);
}

/** @param {{ judged: import("./standing.js").Judged, at: string }} props */
function TaskCell({ judged, at }) {
  const { task, due } = judged;
  const dial = dialOf(judged);
  const rests = dial && restsOn(judged);
  return html`<a class="cell" href=${task.checklist ? `#/round/${at}/${task.checklist}` : `#/task/${at}/${task.id}`}>
    <b>${task.name}</b>${dial ? html`<${Dial} ...${dial} forecast=${arcFor(task, due)} size=${148} />` : html`<span class="cell-why">${due.why}</span>`}
    <span class="cell-when"><${StateMark} mark=${due.state} word=${dial ? whenDue(judged) : due.state} />
      ${rests && html`<small class="cell-rests">${rests}</small>`}</span></a>`;
}

/** @param {{ standing: Standing }} props */
function Tasks({ standing }) {
  const { tasks, machine } = standing;
  const at = machine?.id ?? "shop";
  if (!tasks.length) return null;
  return html`<${Section} title="Runs toward due" area="tasks"><div class="cells">${tasks.map(
    (judged) => html`<${TaskCell} key=${judged.task.id} judged=${judged} at=${at} />`,
  )}</div><//>`;
}

/** @param {{ machine: Definition, doc: import("../core/fold.js").Doc }} props */
function Meters({ machine, doc }) {
  if (!machine.meters.length) return null;
  const { zone, today } = calendar.value;
  return html`<${Section} title="Meters" area="meters" aside=${html`<a href=${`#/log/meter?machine=${machine.id}`}>Read one</a>`}>
    <${Facts} rows=${machine.meters.map((/** @type {any} */ meter) => {
      const running = doc.meters[meter.id];
      const when = running?.at ? html` <span class="soft">${sayDay(dayOf(running.at, zone), today)}</span>` : "";
      return [meter.name, html`<span class="num">${figure(running?.total ?? 0)}</span> ${meter.unit}${when}<${WeekOfUse} used=${usedOf(machine.id, meter.id)} />`];
    })} /><//>`;
}

/** @param {{ machine: Definition, doc: import("../core/fold.js").Doc }} props */
function Parts({ machine, doc }) {
  if (!machine.parts.length) return null;
  const { zone, today } = calendar.value;
  return html`<${Section} title="Wearing parts" area="parts"><ul class="lines">${machine.parts.map((/** @type {any} */ part) => {
    const life = lifeOf(part, machine, doc);
    const fitted = doc.parts[part.id];
    const hint = partHint(machine.id, part.id);
    return html`<li key=${part.id}><a href=${`#/wearing/${machine.id}/${part.id}`}><b>${part.name}</b>
      <span class="soft">${fitted?.minutes !== undefined ? html`<span class="num">${figure(fitted.minutes, 1)}</span> min cut`
        : life ? html`<span class="num">${figure(life.lived, 1)}</span> ${life.unit}${life.past.length > 0 ? html`, the last lived <span class="num">${figure(life.past[0], 1)}</span> ${life.unit}` : ""}`
        : fitted?.at ? `fitted ${sayDay(dayOf(fitted.at, zone), today)}` : "no change recorded yet"}</span>${hint && html`<span class="part-hint">${hint}</span>`}</a></li>`;
  })}</ul><//>`;
}

/** @param {{ machine: Definition, doc: import("../core/fold.js").Doc }} props */
function Fluids({ machine, doc }) {
  if (!machine.fluids.length) return null;
  return html`<${Section} title="Fluids" area="fluids"><ul class="lines">${machine.fluids.map((/** @type {any} */ fluid) => {
    const last = doc.readings[quantityOf(fluid)]?.[0];
    const judged = last && fluid.band ? judgeReading(fluid.band, last.value) : null;
    const added = doc.fluids[fluid.id]?.added ?? 0;
    return html`<li key=${fluid.id}><a href=${`#/coolant/${machine.id}/${fluid.id}`}><b>${fluid.name}</b>
      <span class="soft">holds <span class="num">${figure(fluid.capacity)}</span> ${fluid.unit}${added > 0 ? html`, <span class="num">${figure(added)}</span> ${fluid.unit} added since the change` : ""}</span></a>
      ${last && fluid.band && html`<p><span class="num">${figure(last.value)}</span> ${last.unit}, ${judged?.word}</p><${BandStrip} band=${fluid.band} value=${last.value} unit=${last.unit ?? ""} word=${judged?.word} />`}</li>`;
  })}</ul><//>`;
}

/** The other checklists of the machine, to be walked at any time. @param {{ machine: Definition }} props */
function Checklists({ machine }) {
  const lists = definitions.value.checklists.filter((list) => list.machine === machine.id && !list.retired);
  if (!lists.length) return null;
  return html`<${Section} title="Rounds" area="rounds" aside=${html`<a href=${`#/log/sheet?machine=${machine.id}`}>Type in a sheet</a>`}><ul class="lines">${lists.map((list) => html`<li key=${list.id}>
    <a href=${`#/round/${machine.id}/${list.id}`}><b>${list.name}</b><span class="soft">${list.checks.length} checks</span></a></li>`)}</ul><//>`;
}

/** @param {{ machine: Definition }} props */
function Plate({ machine }) {
  const rows = [["Maker", machine.maker], ["Model", machine.model], ["Serial", machine.serial]].filter(([, value]) => value);
  if (!rows.length && !machine.notes) return null;
  return html`<${Section} title="Plate and notes" area="plate"><${Facts} rows=${rows} />${machine.notes && html`<p class="soft">${machine.notes}</p>`}<//>`;
}

/** @param {{ parts: string[] }} props */
export default function MachinePlace({ parts: [id = ""] }) {
  const machine = definitions.value.byId.get(id) ?? null;
  if (id !== "shop" && !machine?.meters) {
    return html`<${Page} title="Machine" back="#/shop"><${Empty}>This machine is not on this phone. It may have been taken out in Set-up.<//><//>`;
  }
  const standing = standingOf(world.value, machine);
  const { doc, mark, word } = standing;
  const aside = html`<span class="machine-aside"><${StateMark} mark=${mark} word=${word} /><${Icon} name=${iconOf(machine ?? {})} size=${40} /></span>`;
  return html`<${Page} title=${machine?.name ?? "The shop"} back="#/shop" aside=${aside}>
    ${machine?.retired && html`<p class="notice">Taken out of the shop; kept for its records.</p>`}
    <div class="machine-grid">
      <${Fitness} standing=${standing} />
      <${Wants} standing=${standing} />
      ${machine && html`<${Bundles} machine=${machine.id} />`}
      <${Tasks} standing=${standing} />
      <${Upcoming} tasks=${standing.tasks} at=${machine?.id ?? "shop"} />
      ${machine && html`<${Meters} machine=${machine} doc=${doc} /><${Parts} machine=${machine} doc=${doc} /><${Fluids} machine=${machine} doc=${doc} />
        <${Checklists} machine=${machine} />`}
      <${Section} title="Do" area="do"><div class="row"><${ButtonLink} line href=${`#/raise/${machine?.id ?? "shop"}`}>Raise a task<//>
        <${ButtonLink} line href=${`#/log?machine=${machine?.id ?? ""}`}>Log something<//>
        ${machine && isCabinet(machine) && html`<${ButtonLink} line href=${`#/air/purge/${machine.id}`}>Purge timer<//>`}</div>
        ${machine && html`<${Cautions} keys=${machine.cautions ?? []} />`}<//>
      <${Section} title="Last entries" area="entries" aside=${html`<a href=${`#/history/${machine?.id ?? "shop"}`}>History</a>`}><${LastEntries} machine=${machine?.id ?? null} /><//>
      ${machine && html`<${Plate} machine=${machine} />`}
    </div>
  <//>`;
}
