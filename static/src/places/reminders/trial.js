// Trying each way out, a calendar of one's own, and the log of what was sent.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Empty, Facts, Section, sayWhen } from "../../kit/index.js";
import { ask, session, syncNow } from "../../store/index.js";
import { calendar, world } from "../world.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ channel: string, target: string, outcome: string, said: string }} Outcome */
/** @typedef {Outcome & { id: string, title: string | null, made_at: string, tries: number, ended_at: string | null }} Delivery */

/** @type {Record<string, string>} */
export const CHANNELS = { app: "On Today", push: "Push", mail: "Mail", calendar: "Calendar" };
/** @type {Record<string, string>} */
const OUTCOMES = { waiting: "still waiting", sent: "sent", failed: "not sent", gone: "nobody there any more", dropped: "not needed any more" };

/** @type {Record<string, string>} */
const TRIES = { app: "Show a test on Today", push: "Send a test push", mail: "Send a test mail", calendar: "See what it holds" };

/** @param {unknown} error */
const told = (error) => (error instanceof Error ? error.message : String(error));

/** @param {string} at */
const when = (at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });

/** Moments of the server's as people say them. @param {string} text */
const plainly = (text) => text.replace(/\d{4}-\d\d-\d\dT[\d:.]+Z/g, when);

/** @param {{ person: Definition, off: boolean, onTried: () => unknown }} props */
export function Trial({ person, off, onTried }) {
  const [rows, setRows] = useState(/** @type {Record<string, { said: string, bad: boolean }[]>} */ ({}));
  const put = (/** @type {string} */ channel, /** @type {{ said: string, bad: boolean }[]} */ said) => setRows((before) => ({ ...before, [channel]: said }));
  const send = async (/** @type {string} */ channel) => {
    try {
      /** @type {Outcome[]} */
      const found = await ask("POST", "/reminders/test", { person: person.id, channel });
      put(channel, found.map(({ target, outcome, said }) => ({ bad: outcome !== "sent", said: `${channel === "mail" ? `${target}: ` : ""}${OUTCOMES[outcome] ?? outcome}. ${plainly(said)}` })));
      if (channel === "app") await syncNow();
    } catch (error) {
      const { errors = [] } = /** @type {any} */ (error);
      put(channel, [{ bad: true, said: errors.length ? errors.map((/** @type {any} */ { problem, mend }) => `${problem}: ${mend}.`).join(" ") : told(error) }]);
    }
    await onTried();
  };
  return html`<${Section} title="Try it out"><ul class="tries">${Object.entries(CHANNELS).map(([channel, name]) => html`<li key=${channel}><b>${name}</b>
    <${Button} line off=${off} onPress=${() => send(channel)}>${TRIES[channel]}<//>
    <div role="status">${(rows[channel] ?? []).map(({ said, bad }) => html`<p key=${said} class=${bad ? "field-error" : ""}>${said}</p>`)}</div></li>`)}</ul><//>`;
}

/** @param {{ person: Definition, row: { made_at: string, fetched_at: string | null } | undefined, off: boolean, again: () => Promise<unknown> }} props */
export function Calendar({ person, row, off, again }) {
  const [made, setMade] = useState(/** @type {{ url: string, webcal: string } | null} */ (null));
  const [said, setSaid] = useState(/** @type {string | null} */ (null));
  const doing = (/** @type {() => Promise<string | null>} */ work) => async () => {
    try {
      setSaid(await work());
      await again();
    } catch (error) {
      setSaid(told(error));
    }
  };
  const make = doing(async () => {
    setMade(await ask("POST", "/reminders/calendar", { person: person.id }));
    return null;
  });
  const end = doing(async () => {
    await ask("DELETE", `/reminders/calendar/${person.id}`);
    setMade(null);
    return "The address is ended. Calendars that had it are empty from their next look.";
  });
  const copy = doing(async () => {
    await navigator.clipboard.writeText(/** @type {{ url: string }} */ (made).url);
    return "Copied.";
  });
  return html`<${Section} title="Calendar"><p>Any calendar program can show what falls due for ${person.name}, a year ahead: it subscribes to a secret address. Whoever has the address can read it.</p>
    ${row && html`<${Facts} rows=${[["Address made", when(row.made_at)], ["Fetched last", row.fetched_at ? when(row.fetched_at) : "not yet"]]} />`}
    ${made && html`<div class="recipe"><p><b>Shown this once.</b> Copy it into the calendar, or open it there.</p><p class="num told-address">${made.url}</p>
      <div class="row"><${Button} onPress=${copy}>Copy the address<//><a class="button line" href=${made.webcal}>Open in a calendar</a></div></div>`}
    ${said && html`<p role="status">${said}</p>`}
    <div class="row"><${Button} line off=${off} onPress=${make}>${row ? "Make a new address" : "Make an address"}<//>${row && html`<${Button} line off=${off} onPress=${end}>End the address<//>`}</div>
    ${row && html`<p class="soft">A new address ends the one before.</p>`}<//>`;
}

/** Where a message went, in words. @param {Delivery} row @param {{ id: string, device: string }[]} subscriptions */
function whereTo({ channel, target }, subscriptions) {
  if (channel !== "push") return target;
  const device = subscriptions.find(({ id }) => id === target)?.device;
  return device === session.value.device?.id ? "this phone" : device ? "another phone" : "a phone that is off by now";
}

/** @param {{ rows: Delivery[] | null, subscriptions: { id: string, device: string }[], onMore: (() => unknown) | null }} props */
export function Log({ rows, subscriptions, onMore }) {
  return html`<${Section} title="What was sent">${!rows ? html`<${Empty}>The log is the server's; it comes with the next signal.<//>`
    : rows.length ? html`<ul class="deliveries">${rows.map((row) => html`<li key=${row.id}><b>${row.title ?? "A calendar looked"}</b>
        <span class="soft">${CHANNELS[row.channel] ?? row.channel} to ${whereTo(row, subscriptions)}, ${when(row.made_at)}: ${OUTCOMES[row.outcome] ?? row.outcome}${row.tries > 1 ? ` after ${row.tries} tries` : ""}.
          ${row.outcome !== "sent" || row.channel === "calendar" ? plainly(row.said) : ""}</span></li>`)}</ul>
      ${onMore && html`<div class="row"><${Button} plain onPress=${onMore}>Show more<//></div>`}`
    : html`<${Empty}>Nothing yet.<//>`}<//>`;
}
