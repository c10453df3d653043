// The coolant desk: how the charge stands, what to pour in, and where its strength is going.
import { html } from "htm/preact";
import { BandStrip, ButtonLink, Cautions, Facts, Notice, Page, Section, StateMark, counted, dayIn, figure, sayDay, sayWhen } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { KeptPage, useKeeping } from "../keeping.js";
import { judgeReading } from "../readings.js";
import { docOf, quantityOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { MixForm, OwnCharge } from "./mixing.js";
import { acidityOf, controlOf, saySignal, strengthsOf, trendOf } from "./points.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ machine: Definition, fluid: any, found: any }} DeskProps `found`: the fluid's document as the server worked it out, or null */

const when = (/** @type {string} */ at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });
const dayAt = (/** @type {string} */ at) => dayIn(new Date(at), calendar.value.zone);

/** The strength as it was read last, on this phone or another. @param {DeskProps} props */
function Now({ machine, fluid, found }) {
  const own = docOf(world.value, machine).readings[quantityOf(fluid)] ?? [];
  const last = strengthsOf(fluid, found?.series ?? [], own).at(-1);
  const judged = last && fluid.band ? judgeReading(fluid.band, last.percent) : null;
  const aim = found?.strength?.brix_to_aim_at;
  return html`<${Section} title="Strength"><p>${last ? html`<span class="now-figure num">${figure(last.percent, 1)}</span> % ${judged && html`<${StateMark} mark=${judged.inside ? "resting" : judged.stop ? "stop" : "due"} word=${judged.word} />`}
      <span class="soft"> read ${when(last.at)}${last.doubtful ? ", doubtful: the instrument was off on water" : ""}</span>` : "Not read yet."}</p>
    ${fluid.band && html`<${BandStrip} band=${fluid.band} value=${last?.percent ?? null} unit="%" word=${judged?.word ?? ""} />`}
    ${found && html`<p>${found.leaving.say}</p>`}
    ${typeof aim === "number" && (fluid.factor ?? 1) !== 1 && html`<p class="soft">Aim at ${figure(aim, 1)} Brix on the refractometer.</p>`}
    ${found?.zero && html`<p class=${found.zero.ok ? "soft" : ""}>${found.zero.say} ${found.zero.do}</p>`}<//>`;
}

const LEVELS = /** @type {Record<string, { mark: import("../../kit/state.js").Mark, word: string }>} */ ({ act: { mark: "late", word: "act today" }, look: { mark: "due", word: "look" }, within: { mark: "resting", word: "within" } });
const SIGN_NAMES = /** @type {Record<string, string>} */ ({ ph: "pH", tramp_oil: "Tramp oil", dip_slide: "Dip slide", temperature: "Temperature", smell: "Smell", copper: "Tint and stains", hardness: "Hardness in the sump", water: "Make-up water" });

/** @param {{ key: string }} sign */
const nameOf = ({ key }) => SIGN_NAMES[key] ?? key;

/** @param {{ sign: any }} props */
function Sign({ sign }) {
  const { mark, word } = LEVELS[sign.level];
  return html`<li class="sign"><div class="sign-head"><b>${nameOf(sign)}</b><${StateMark} mark=${mark} word=${word} /></div>
    <p>${sign.says}${sign.at && html` <span class="soft">${sayDay(dayAt(sign.at), calendar.value.today)}</span>`}</p>${sign.level !== "within" && html`<p><b>To do:</b> ${sign.do}</p>`}</li>`;
}

/** What else the coolant shows, the worst first. The two cautions of mixing stand at the top-up already. @param {{ found: any }} props */
function Signs({ found: { signs, cautions } }) {
  const further = cautions.filter((/** @type {string} */ key) => key !== "concentrate" && key !== "coolant_skin");
  return html`<${Section} title="Signs" area="signs"><${Cautions} keys=${further} />
    ${signs.length ? html`<ul class="lines">${signs.map((/** @type {any} */ sign) => html`<${Sign} key=${sign.key} sign=${sign} />`)}</ul>
      <details class="why"><summary>Sources</summary>${signs.map((/** @type {any} */ sign) => html`<p key=${sign.key}><b>${nameOf(sign)}:</b> ${sign.source}.</p>`)}</details>`
      : html`<p class="soft">No pH, tramp oil, dip slide, smell or tint was recorded of this charge in the last two months. The weekly round asks for them.</p>`}<//>`;
}

/** @param {DeskProps} props */
function Trend({ machine, fluid, found }) {
  const own = docOf(world.value, machine).readings[quantityOf(fluid)] ?? [];
  const rows = strengthsOf(fluid, found?.series ?? [], own);
  if (rows.length < 2) return html`<${Section} title="Trend"><p class="soft">${counted(rows.length, "reading")} so far: two or more make a line.</p><//>`;
  return html`<${Section} title="Trend"><${Chart} ...${trendOf(rows, fluid.band, { zone: calendar.value.zone, sayAt: when })} />
    <p class="soft">${fluid.band ? "The shaded stretch is the band." : "No band is set for this coolant: set it in Set-up."} ${counted(rows.length, "reading")} over the charges of the last half year.</p><//>`;
}

/** @param {DeskProps} props */
function Acidity({ machine, fluid, found }) {
  const own = docOf(world.value, machine).readings[quantityOf(fluid).replace(/[^.]*$/, "ph")] ?? [];
  const drawn = found?.acidity && acidityOf(found.acidity, own, { zone: calendar.value.zone, sayAt: when });
  return drawn && html`<${Section} title="pH"><${Chart} ...${drawn} /><p class="soft">The shaded stretch is the band; what a reading outside of it means stands under Signs.</p><//>`;
}

/** @param {{ found: any }} props */
function Control({ found: { chart } }) {
  if (!chart.enough) return html`<${Section} title="Has it changed?"><p>${chart.say} Too few to tell chance from change.</p><//>`;
  const { zone, today } = calendar.value;
  const newest = [...chart.signals].reverse();
  return html`<${Section} title="Has it changed?"><p>${chart.say}</p><${Chart} ...${controlOf(chart, { zone, sayAt: when })} />
    ${newest.length ? html`<h3>Signals, newest first</h3><ul class="lines signals">${newest.map((signal) => html`<li key=${signal.rule + signal.side + signal.from}>${saySignal(signal, today, dayAt)}</li>`)}</ul>`
      : html`<p>No signal: the charge behaves as it did when its limits were set.</p>`}
    <p class="soft">A signal says that something has changed, not what: top-ups, water, tramp oil, the instrument. Limits are three times the scatter of this charge's first readings; the band above is what to act on.</p>
    ${chart.nelson.length > 0 && html`<details class="why"><summary>Further patterns (${chart.nelson.length})</summary><ul>${chart.nelson.map((/** @type {any} */ one) => html`<li key=${one.rule + one.from}>${saySignal(one, today, dayAt)}</li>`)}</ul></details>`}<//>`;
}

/** @param {{ found: any }} props */
function Losses({ found: { losses } }) {
  if (!losses.enough) return html`<${Section} title="Where it goes"><p>${losses.say} More are needed to tell evaporation from drag-out.</p><//>`;
  const rate = (/** @type {number} */ value) => html`<span class="num">${figure(value)}</span> ${losses.unit} a week`;
  return html`<${Section} title="Where it goes"><p>${losses.say}</p><${Facts} rows=${[
    ["Lost", rate(losses.lost_a_week)], ["Water, evaporated", rate(losses.water_a_week)], ["Mix, dragged out", rate(losses.mix_a_week)], ["Concentrate used", rate(losses.concentrate_a_week)]]} /><//>`;
}

/** @param {{ found: any }} props */
function Hardness({ found: { hardness } }) {
  if (!hardness) return html`<${Section} title="Hardness"><p class="soft">Not known: give the make-up water's hardness in Set-up, or measure the sump.</p><//>`;
  const ppm = (/** @type {number | null} */ value) => (value === null ? "not known" : html`<span class="num">${figure(value, 0)}</span> ppm`);
  return html`<${Section} title="Hardness"><${Facts} rows=${[["Make-up water", ppm(hardness.water_ppm)],
    [hardness.measured ? "In the sump, measured" : "In the sump, reckoned", ppm(hardness.now_ppm)], ["Where it will settle", ppm(hardness.end_ppm)]]} />
    <p class="soft">As calcium carbonate. Water evaporates and its salts stay${hardness.since ? `; reckoned since ${sayDay(dayAt(hardness.since), calendar.value.today)}` : ""}.</p><//>`;
}

/** @param {DeskProps & { age: import("preact").ComponentChildren }} props */
export function CoolantDesk({ machine, fluid, found, age }) {
  const { problem, kept, keep } = useKeeping();
  const back = `#/machine/${machine.id}`;
  if (kept) return html`<${KeptPage} title=${fluid.name} said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: back, text: machine.name }} />`;
  const pressing = found?.signs.some((/** @type {any} */ { level }) => level === "act");
  return html`<${Page} title=${fluid.name} back=${back} aside=${html`<span>${machine.name}</span>`}>
    ${age}<div class="part-grid desk"><div class="stack"><${Now} machine=${machine} fluid=${fluid} found=${found} />
      ${pressing && html`<${Signs} found=${found} />`}
      <${Section} title="Top up"><${MixForm} machine=${machine} fluid=${fluid} keep=${keep} problem=${problem} /><//></div>
    <div class="stack"><${Trend} machine=${machine} fluid=${fluid} found=${found} /><${Acidity} machine=${machine} fluid=${fluid} found=${found} />
      ${found && html`${!pressing && html`<${Signs} found=${found} />`}<${Control} found=${found} /><${Losses} found=${found} /><${Hardness} found=${found} />`}
      <${Section} title="This charge"><${OwnCharge} machine=${machine} fluid=${fluid} /><div class="row"><${ButtonLink} line href=${`#/log/fluid?machine=${machine.id}&fluid=${fluid.id}`}>Log a change of the charge<//></div>
        ${found?.faults.map((/** @type {string} */ fault) => html`<${Notice} key=${fault} title="Left out">${fault}<//>`)}<//></div></div><//>`;
}
