// Reminders, in set-up: how a person is told, on this phone and elsewhere; tests, calendar, log. A member sets their own.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Empty, Notice, SelectField, go } from "../../kit/index.js";
import { ask, definitions, link, person, session } from "../../store/index.js";
import { done } from "../setup/done.js";
import { EditPage } from "../setup/editor.js";
import { SetupPage } from "../setup/frame.js";
import { OwnerHere } from "../setup/owner-here.js";
import { inUse } from "../standing.js";
import { PersonForm } from "./form.js";
import { PushHere } from "./push.js";
import { Calendar, Log, Trial } from "./trial.js";

/** @typedef {{ push: import("../../store/webpush.js").Ways, mail: { set_up: boolean, sender: string | null }, calendars: { person: string, made_at: string, fetched_at: string | null }[] }} Channels */

const FIRST = 20;
const MOST = 500;

/** What only the server knows, fetched anew after each change. @param {string} id a person's */
function useServer(id) {
  const [channels, setChannels] = useState(/** @type {Channels | null} */ (null));
  const [log, setLog] = useState(/** @type {any[] | null} */ (null));
  const [limit, setLimit] = useState(FIRST);
  const here = link.value === "here";
  const look = async () => {
    if (!here) return;
    try {
      setChannels(await ask("GET", "/reminders/channels"));
      setLog(await ask("GET", `/reminders/deliveries?person=${id}&limit=${limit}`));
    } catch {
      // what was there stays; what is pressed next says what is wrong
    }
  };
  useEffect(() => { void look(); }, [id, here, limit]);
  return { channels, log, look, more: log && log.length === limit && limit < MOST ? () => setLimit(MOST) : null };
}

/** Whose it is: the owner sees to everybody. @param {{ id: string }} props */
function Whose({ id }) {
  const options = inUse(definitions.value.people).map((one) => ({ value: one.id, text: one.name }));
  return html`<${SelectField} label="Whose" options=${options} value=${id} onValue=${(/** @type {string} */ next) => go(`setup/reminders/${next}`)} />`;
}

/** @param {import("../setup/editor.js").Opened} props */
function Reminders({ base, draft }) {
  const { channels, log, look, more } = useServer(base?.id ?? "");
  if (!base) return null;
  const own = base.id === person.value?.id;
  const may = session.value.owner || (own && base.role !== "owner");
  const off = link.value !== "here";
  const answered = () => {
    done.value = `How ${base.name} is told is saved.`;
    draft.again();
  };
  return html`<${SetupPage} title="Reminders" on="reminders" open>
    ${off && html`<${Notice} live title="There is no answer from the server now.">What stands for you is on Today all the same. Below is what this phone keeps; changes need signal.<//>`}
    ${!off && !may && base.role === "owner" && html`<${OwnerHere} />`}
    ${session.value.owner && html`<${Whose} id=${base.id} />`}
    <div class="edit-grid"><div class="stack">${own && html`<${PushHere} ways=${channels?.push ?? null} person=${base} off=${off} again=${look} />`}
      <${PersonForm} base=${base} draft=${draft} may=${may} mail=${channels?.mail ?? null} onKept=${answered} /></div>
    <div class="side stack">${(own || session.value.owner) && html`<${Trial} person=${base} off=${off} onTried=${look} />
      <${Calendar} person=${base} row=${channels?.calendars.find((one) => one.person === base.id)} off=${off} again=${look} />
      <${Log} rows=${log} subscriptions=${channels?.push.subscriptions ?? []} onMore=${more} />`}</div></div><//>`;
}

/** @param {{ parts: string[] }} props */
export function RemindersPage({ parts: [id = person.value?.id ?? ""] }) {
  if (!id) return html`<${SetupPage} title="Reminders" on="reminders" open><${Empty}>Say <a href="#/who">who you are</a> first: everybody is told in their own way.<//><//>`;
  return html`<${EditPage} id=${id} list=${inUse(definitions.value.people)} on="reminders" noun="person" form=${Reminders} />`;
}
