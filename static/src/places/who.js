// Who is here: a big button for each person; a PIN where the person has one, checked on the phone.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, ButtonLink, Empty, Page, Section, TickField, go, where } from "../kit/index.js";
import { choosePerson, definitions, forgetPerson, person, session } from "../store/index.js";
import { arriving } from "./setup/arriving.js";
import { InstallHint } from "./setup/install.js";
import { forgetJustMe, justMe, keepJustMe } from "./setup/just-me.js";
import { PinPad } from "./setup/pin-pad.js";
import { inUse } from "./standing.js";
import { calendar } from "./world.js";

/** @typedef {import("../store/types.js").Definition} Definition */

/** @param {{ one: Definition, onPress: () => void }} props */
function PersonButton({ one, onPress }) {
  const here = person.value?.id === one.id;
  return html`<button type="button" class="person" aria-pressed=${here} onClick=${onPress}><b class="initials num">${one.initials}</b>
    <span>${one.name}${here && html`<span class="tile-note">is named here now</span>`}${one.pin && !here && html`<span class="tile-note">asks for a PIN</span>`}</span></button>`;
}

/** What follows the first time on a device. @param {{ name: string }} props */
function Welcome({ name }) {
  return html`<${Page} title=${`Welcome, ${name}`}><div class="stack"><p>What you do on this device now stands in the record under your name.</p>
    <${InstallHint} /><div class="row"><${ButtonLink} big href="#/today">Go to Today<//></div></div><//>`;
}

/** Choose by what was remembered for the day, unless the reader came to change it. @param {boolean} asked */
function useJustMe(asked) {
  const { today } = calendar.value;
  const device = session.value.device?.id ?? "";
  useEffect(() => {
    const id = asked ? null : justMe(device, today);
    const found = definitions.value.people.find((one) => one.id === id && !one.retired && !one.pin);
    if (found) choosePerson(found.id);
  }, [asked, device, today]);
}

/** The people to choose from. @param {{ onChosen: (one: Definition) => void }} props */
function Choose({ onChosen }) {
  const [asked, setAsked] = useState(/** @type {Definition | null} */ (null));
  const [only, setOnly] = useState(false);
  const people = inUse(definitions.value.people);
  const device = session.value.device?.id ?? "";
  /** @param {Definition} one @param {string} [pin] */
  const take = async (one, pin) => {
    if (!(await choosePerson(one.id, pin))) return false;
    if (only && !one.pin) keepJustMe({ id: one.id, day: calendar.value.today, device });
    else forgetJustMe();
    onChosen(one);
    return true;
  };
  if (asked) return html`<${PinPad} name=${asked.name} onPin=${(/** @type {string} */ pin) => take(asked, pin)} onBack=${() => setAsked(null)} />`;
  if (!people.length) return html`<${Empty}>The people of the shop are not on this phone yet: they come as soon as there is signal.<//>`;
  return html`<div class="people">${people.map((one) => html`<${PersonButton} key=${one.id} one=${one} onPress=${() => (one.pin ? setAsked(one) : take(one))} />`)}</div>
    <${TickField} label="Just me on this phone today" hint="It does not ask again before tomorrow. Who has a PIN is asked for it each time the app is opened anew."
      on=${only} onValue=${setOnly} />`;
}

export default function Who() {
  const asked = where.value.parts[0] === "who";
  const isNew = asked && where.value.query.get("new") === "1";
  const [chosen, setChosen] = useState(/** @type {string | null} */ (null));
  useJustMe(asked);
  if (arriving.value) return html`<${Page} title="Coming in"><${Empty}>The shop is on its way to this device.<//><//>`;
  if (chosen) return html`<${Welcome} name=${chosen} />`;
  /** @param {Definition} one */
  const onChosen = (one) => {
    if (isNew) setChosen(String(one.name));
    else if (asked) go("today", { replace: true });
  };
  const leave = () => {
    forgetJustMe();
    forgetPerson();
  };
  return html`<${Page} title="Who are you?" back=${asked && person.value ? "#/today" : undefined}>
    <p>Every entry in the record is somebody's: press your name.</p>
    <${Choose} onChosen=${onChosen} />
    ${person.value && html`<${Section}><div class="row"><${Button} line onPress=${leave}>${`${person.value.name} leaves`}<//></div><//>`}
    <p class="soft">Not in the list? The owner adds people under <a href="#/setup/people">Set-up</a>.</p><//>`;
}
