// The records binder: asked for, watched while it is made, and fetched; it goes on while this page is left.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, DateField, Form, SelectField, counted, figure, useForm } from "../../kit/index.js";
import { ask, definitions, loadDraft, saveDraft } from "../../store/index.js";
import { addressOf, SaveButton } from "./fetching.js";

/** @typedef {{ id: string, state: "running" | "done" | "failed", percent: number, told: string, from: string, to: string, pages: number | null, entries: number | null, chain: string | null }} Job */

const DRAFT = "papers/binder";
const LOOK_MS = 1_000;

/** The binder that this browser asked for last, looked after while it is made. */
function useJob() {
  const [job, setJob] = useState(/** @type {Job | null} */ (null));
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const look = async (/** @type {string} */ id) => {
    try {
      setJob(await ask("GET", `/reports/binder/${id}`));
      setProblem(null);
    } catch (error) {
      const fault = /** @type {any} */ (error);
      if (fault.status === 404) setJob(null); // kept for a day only
      else setProblem(`How far it is cannot be seen now: ${fault.message} It goes on meanwhile.`);
    }
  };
  useEffect(() => {
    loadDraft(DRAFT).then((id) => id && look(id), () => {});
  }, []);
  useEffect(() => {
    if (job?.state !== "running") return;
    const timer = setInterval(() => look(job.id), LOOK_MS);
    return () => clearInterval(timer);
  }, [job?.id, job?.state]);
  const begin = async (/** @type {any} */ asked) => {
    const made = await ask("POST", "/reports/binder", asked);
    await saveDraft(DRAFT, made.id).catch(() => {}); // then only a reload loses sight of it
    setJob(made);
  };
  return { job, problem, begin };
}

/** @param {{ job: Job }} props */
function Standing({ job }) {
  if (job.state === "failed") return html`<p class="field-error" role="alert">${job.told}</p>`;
  if (job.state === "running") {
    return html`<div class="stack" role="status"><p>Binder of ${job.from} to ${job.to}: ${figure(job.percent, 0)} %. ${job.told}</p><progress max="100" value=${job.percent} aria-label="Binder"></progress></div>`;
  }
  return html`<div class="stack"><p role="status">Binder of ${job.from} to ${job.to}: ${counted(job.pages ?? 0, "page")}, ${counted(job.entries ?? 0, "entry", "entries")}. Kept on the server for a day.</p>
    <p class="soft">The chain stood at <span class="num hash">${job.chain}</span>. It is printed on the last page: a note of it kept elsewhere shows later that nothing was altered.</p>
    <${SaveButton} address=${addressOf(`binder/${job.id}/file`)} name=${`binder-${job.from}-${job.to}.pdf`} text="Save the binder" /></div>`;
}

/** @param {{ today: string, off: boolean }} props */
export function Binder({ today, off }) {
  const form = useForm({ first: `${today.slice(0, 4)}-01-01`, last: today, machine: "" });
  const { job, problem, begin } = useJob();
  const [fault, setFault] = useState(/** @type {string | null} */ (null));
  const send = async () => {
    setFault(null);
    const { first, last, machine } = form.values;
    try {
      await begin({ ...(first ? { from: first } : {}), ...(last ? { to: last } : {}), ...(machine ? { machines: [machine] } : {}) });
    } catch (error) {
      const { errors = [], message } = /** @type {any} */ (error);
      const names = /** @type {Record<string, string>} */ ({ from: "first", to: "last", machines: "machine" });
      const known = errors.filter((/** @type {any} */ one) => names[one.field]);
      form.setErrors(Object.fromEntries(known.map((/** @type {any} */ one) => [names[one.field], `It ${one.problem}: ${one.mend}.`])));
      if (!known.length) setFault(errors[0] ? `${errors[0].problem}: ${errors[0].mend}.` : message);
    }
  };
  const machines = definitions.value.machines.map(({ id, name }) => ({ value: id, text: name }));
  return html`<p class="soft">Everything that happened in a span of days, with charts and photos, as a PDF that stands by itself: for an insurer, an inspector, a new hire.</p>
    <${Form} onSend=${send} problem=${fault}><div class="pair"><${DateField} label="First day" hint="Empty: the first." max=${today} ...${form.field("first")} /><${DateField} label="Last day" hint="Empty: today." max=${today} ...${form.field("last")} /></div>
      <${SelectField} label="Machines" blank="All of the shop" options=${machines} ...${form.field("machine")} />
      <${Button} off=${off || job?.state === "running"}>Make the binder<//><//>
    ${problem && html`<p class="soft" role="status">${problem}</p>`}${job && html`<${Standing} job=${job} />`}`;
}
