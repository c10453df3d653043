// The forms of what protects people: equipment looked at or issued, fit tests, training and sign-offs.
import { html } from "htm/preact";
import { ChoiceField, DateField, NumberField, SelectField, TextField, readNumber } from "../../../kit/index.js";
import { addMonths } from "../../../core/dates.js";
import { fitFactor } from "../../../core/respirators.js";
import { person } from "../../../store/index.js";
import { nameOf } from "../../names.js";
import { calendar } from "../../world.js";
import { AirForm, MachineField, PersonField, filled, needed, refuse, useAirForm } from "./frame.js";

const PARTS = [["eye", "Eyes"], ["ear", "Ears"], ["hand", "Hands"], ["lung", "Lungs"], ["foot", "Feet"], ["skin", "Skin, clothes"], ["head", "Head"]].map(([value, text]) => ({ value, text }));
const RESULTS = [{ value: "ok", text: "Looked at, ok" }, { value: "issued", text: "Issued" }, { value: "replaced", text: "Replaced" }, { value: "refused", text: "Out of use", note: "nothing in its place yet" }];
const whose = { text: "People", href: "#/air/people" };

/** @param {import("./frame.js").LogProps} props */
export function PpeForm({ query }) {
  const { form, problem, kept, keep } = useAirForm({ person: query.get("person") ?? person.peek()?.id ?? "", kind: "", what: "", result: "ok", hours: "", change_after: "", change_by: "", note: "" });
  const { values } = form;
  const lung = values.kind === "lung";
  const hours = readNumber(lung ? values.hours : "", { name: "Hours worn", min: 0, max: 10_000, optional: true });
  const after = readNumber(lung ? values.change_after : "", { name: "To be changed after", above: 0, max: 10_000, optional: true });
  const send = () => {
    const errors = { person: needed(values.person, "person", "Choose whose it is."), kind: needed(values.kind, "what it protects", "Choose one."), hours: hours.error, change_after: after.error,
      note: values.result === "refused" ? needed(values.note, "note", "Write why it is out of use.") : null };
    if (refuse(form, errors)) return;
    const body = { ...filled({ person: values.person, kind: values.kind, what: values.what, result: values.result, change_by: values.change_by, note: values.note }),
      ...(hours.value === null ? {} : { hours: hours.value }), ...(after.value === null ? {} : { change_after: after.value }) };
    return keep([{ kind: "ppe.checked", body }], `${nameOf(values.person)}: ${values.what.trim() || `${values.kind} protection`}, ${values.result}.`);
  };
  return html`<${AirForm} title="Equipment checked" button="Keep it" kept=${kept} problem=${problem} onSend=${send} also=${whose}>
    <${PersonField} form=${form} />
    <${ChoiceField} label="Protects" options=${PARTS} ...${form.field("kind")} />
    <${TextField} label="Which" hint=${lung ? "Half mask, P100 cartridges" : "Leave it out where there is only one"} optional maxLength=${80} ...${form.field("what")} />
    <${ChoiceField} label="What was done" options=${RESULTS} ...${form.field("result")} />
    ${lung && html`<div class="pair"><${NumberField} label="Hours worn" hint="Since the last entry" unit="h" optional ...${form.field("hours")} />
      <${NumberField} label="Change after" hint="By its schedule" unit="h" optional ...${form.field("change_after")} /></div>`}
    ${values.kind && html`<${DateField} label="Change by" optional ...${form.field("change_by")} />`}
    <${TextField} label="Note" lines=${2} optional=${values.result !== "refused"} ...${form.field("note")} /><//>`;
}

const METHODS = [{ value: "qualitative", text: "Qualitative", note: "by taste or smell" }, { value: "quantitative", text: "Quantitative", note: "a fit factor" }];
const PIECES = [{ value: "half", text: "Half mask" }, { value: "full", text: "Full facepiece" }, { value: "quarter", text: "Quarter mask" }];
const PASSED = [{ value: "pass", text: "Passed" }, { value: "fail", text: "Failed" }];

/** What a measured factor says of the piece. @param {Record<string, string>} values @param {number | null} factor */
function factorSaid(values, factor) {
  if (values.method !== "quantitative" || factor === null) return null;
  const reached = fitFactor(values.piece, factor);
  const asked = values.piece === "full" ? 500 : 100;
  return reached ? `It reaches ${asked}, the factor asked of this piece.` : `It does not reach ${asked}, the factor asked of this piece: the test is failed (29 CFR 1910.134, Appendix A).`;
}

/** @param {import("./frame.js").LogProps} props */
export function FitForm({ query }) {
  const { today } = calendar.value;
  const { form, problem, kept, keep } = useAirForm({ person: query.get("person") ?? "", respirator: "", piece: "half", make_note: "", method: "qualitative", factor: "", result: "pass", expires: addMonths(today, 12), note: "" });
  const { values } = form;
  const counted = values.method === "quantitative";
  const factor = readNumber(counted ? values.factor : "", { name: "Fit factor", above: 0, max: 1e6, optional: !counted });
  const said = factorSaid(values, factor.value);
  const short = counted && factor.value !== null && !fitFactor(values.piece, factor.value);
  const send = () => {
    const errors = { person: needed(values.person, "person", "Choose whose face it was."), respirator: needed(values.respirator, "respirator", "Name the one that was tested, with its size."), factor: factor.error,
      result: values.result === "pass" && short ? "The factor is below what the piece needs, so it is not passed." : null,
      expires: values.result !== "pass" ? null : !values.expires ? "The day of the next test is empty: a year on at the latest." : values.expires > addMonths(today, 12) ? "The next test is more than a year on. It is due a year on at the latest (29 CFR 1910.134(f)(2))." : null };
    if (refuse(form, errors)) return;
    const body = { ...filled({ person: values.person, respirator: values.respirator, make_note: values.make_note, method: values.method, result: values.result, note: values.note,
      expires: values.result === "pass" ? values.expires : "" }), ...(factor.value === null ? {} : { factor: factor.value }) };
    return keep([{ kind: "fit.tested", body }], `${nameOf(values.person)}, ${values.respirator.trim()}: ${values.result === "pass" ? "passed" : "failed"}.`);
  };
  return html`<${AirForm} title="Fit test" button="Keep the test" kept=${kept} problem=${problem} onSend=${send} also=${whose} will=${[said]}>
    <${PersonField} form=${form} /><${TextField} label="Respirator" hint="Kind and size: half mask, medium" maxLength=${80} ...${form.field("respirator")} />
    <${TextField} label="Maker and model" optional maxLength=${200} ...${form.field("make_note")} />
    <${ChoiceField} label="Method" options=${METHODS} ...${form.field("method")} />
    ${counted && html`<${ChoiceField} label="Piece" options=${PIECES} ...${form.field("piece")} /><${NumberField} label="Fit factor" ...${form.field("factor")} />`}
    <${ChoiceField} label="Result" options=${PASSED} ...${form.field("result")} />
    ${values.result === "pass" && html`<${DateField} label="Next test by" max=${addMonths(today, 12)} ...${form.field("expires")} />`}
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} /><//>`;
}

/** @param {import("./frame.js").LogProps} props */
export function TrainingForm({ query }) {
  const { today } = calendar.value;
  const { form, problem, kept, keep } = useAirForm({ person: query.get("person") ?? "", machine: query.get("machine") ?? "", topic: "", trainer: "", outside: "", expires: addMonths(today, 12), note: "" });
  const { values } = form;
  const send = () => {
    const self = values.trainer === values.person && !values.outside.trim();
    const errors = { person: needed(values.person, "person", "Choose who was shown."), topic: values.machine ? null : needed(values.topic, "topic", "Name it, or choose the machine."),
      trainer: self && values.trainer ? "Nobody signs themselves off. Name another, or a trainer from elsewhere." : values.trainer || values.outside.trim() ? null : "Nobody is named. Name who trained, or a trainer from elsewhere." };
    if (refuse(form, errors)) return;
    return keep([{ kind: "training.signed", body: filled(values) }], `${nameOf(values.person)} is signed off: ${[values.machine && nameOf(values.machine), values.topic.trim()].filter(Boolean).join(", ")}.`);
  };
  return html`<${AirForm} title="Training signed off" button="Sign it off" kept=${kept} problem=${problem} onSend=${send} also=${whose}
    will=${[values.machine && `${nameOf(values.machine)} asks everybody who walks its rounds for a sign-off from now on`]}>
    <${PersonField} form=${form} /><${MachineField} form=${form} blank="No machine: a topic" optional />
    <${TextField} label="Topic" hint="Lock-out, respirators, lead" optional=${Boolean(values.machine)} maxLength=${120} ...${form.field("topic")} />
    <${PersonField} form=${form} name="trainer" label="Shown by" blank="Somebody from elsewhere" optional />
    <${TextField} label="Trainer or course from elsewhere" optional=${Boolean(values.trainer)} maxLength=${120} ...${form.field("outside")} />
    <${SelectField} label="Holds for" options=${[{ value: addMonths(today, 12), text: "a year" }, { value: addMonths(today, 36), text: "three years" }, { value: "", text: "without an end" }]} ...${form.field("expires")} />
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} /><//>`;
}

