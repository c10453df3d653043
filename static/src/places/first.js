// First run: the shop and its owner, then straight on to choosing machines.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, ButtonLink, Form, Notice, Page, Section, TextField, useForm, where } from "../kit/index.js";
import { choosePerson, definitions, firstRun, makePin, session, syncNow } from "../store/index.js";
import { useBegun } from "./keeping.js";
import { arrive } from "./setup/arriving.js";
import { named } from "./setup/naming.js";
import { checkShop, ShopFields } from "./setup/shop-fields.js";
import { checkPerson, PersonFields } from "./setup/person-fields.js";
import { useAsking } from "./setup/waiting.js";
import { ownZone, thisDevice } from "./setup/zones.js";

export const SHORTEST_PASSWORD = 10; // the server's own limit

/** @type {Record<string, [string, string]>} */
const FIELDS = {
  code: ["code", "The set-up code"], "shop.name": ["name", "The shop's name"], "shop.time_zone": ["zone", "The time zone"],
  "shop.hours_a_week": ["hours", "Hours a week"], "owner.name": ["person", "Your name"], "owner.initials": ["initials", "Initials"],
  password: ["password", "The password"], device_name: ["device", "The name of this device"],
};

/** Inch where inches are the custom. @param {string} language */
const usualUnits = (language) => (/-US\b/i.test(language) ? "us" : "metric");

/** @param {{ password: string, again: string }} values */
function checkPassword({ password, again }) {
  const short = [...password].length < SHORTEST_PASSWORD;
  return {
    password: short ? `The password is ${[...password].length || "0"} characters long. Use at least ${SHORTEST_PASSWORD}: a few words are easiest.` : null,
    again: !short && again !== password ? "The two passwords differ. Type the same one twice." : null,
  };
}

/** @param {any} values */
function check(values) {
  const shop = checkShop(values);
  const owner = checkPerson(values);
  const code = values.code.trim() ? null : "The set-up code is empty. Copy it from the window in which the server was started.";
  const device = named(values.device, "The name of this device", 80);
  const errors = { code, ...shop.errors, ...owner.errors, ...checkPassword(values), device };
  return { errors, sound: Object.values(errors).every((error) => !error), shop: shop.body, owner: owner.body };
}

/** Make the shop, go on to its machines, and be its owner at this device. @param {any} values @param {ReturnType<typeof check>} checked */
async function make(values, { shop, owner }) {
  const pin = values.pin ? await makePin(values.pin) : null;
  await arrive("setup/stand?new=1", async () => {
    await firstRun({
      code: values.code.trim(), shop, owner: { ...owner, ...(pin ? { pin } : {}) }, password: values.password, device_name: values.device.trim(),
    });
    await syncNow();
    const [me] = definitions.value.people;
    if (me) await choosePerson(me.id, values.pin);
  });
}

export default function First() {
  const [given] = useState(where.value.query.get("code") ?? "");
  const form = useForm({
    code: given, name: "", zone: ownZone(), units: usualUnits(navigator.language), hours: "40",
    person: "", initials: "", pin: "", password: "", again: "", device: thisDevice(),
  });
  useBegun(form);
  const { problem, wait, asking } = useAsking(FIELDS, form.setErrors);
  if (session.value.phase !== "first run") {
    return html`<${Page} title="Set up your shop"><p>A shop is set up here already.</p><div class="row"><${ButtonLink} href="#/today">Go to Today<//></div><//>`;
  }
  const send = () => {
    const checked = check(form.values);
    if (!checked.sound) return form.setErrors(checked.errors);
    return asking(() => make(form.values, checked));
  };
  return html`<${Page} title="Set up your shop"><${Form} onSend=${send} problem=${problem}>
    <p>Nothing is set up here yet. This makes the shop and you its owner; the machines come next.</p>
    <${TextField} label="Set-up code" hint="From the window in which the server was started. It is good for one day."
      focus=${!given} ...${form.field("code")} />
    <${Section} title="The shop"><${ShopFields} form=${form} /><//>
    <${Section} title="You, the owner"><${PersonFields} form=${form} own />
      <${TextField} label="Password" type="password" autocomplete="new-password"
        hint=${`At least ${SHORTEST_PASSWORD} characters; a few words are easiest. It is asked for when set-up is to be changed.`} ...${form.field("password")} />
      <${TextField} label="The same password again" type="password" autocomplete="new-password" ...${form.field("again")} /><//>
    <${Section} title="This device"><${TextField} label="Name of this device" hint="So that you can tell it from the others." ...${form.field("device")} /><//>
    <${Notice}>Wayround records and computes; it authorises nothing. What it says never comes before the machine's manual.<//>
    <${Button} big off=${wait > 0}>${wait > 0 ? `Wait ${wait} s` : "Set it up"}<//>
  <//><//>`;
}
