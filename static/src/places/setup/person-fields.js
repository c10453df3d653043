// A person's own fields, for the first run and for set-up.
import { html } from "htm/preact";
import { TextField } from "../../kit/index.js";
import { named } from "./naming.js";

/** First letters of a name, three at most; as the server makes them. @param {string} name */
export const initialsFrom = (name) => name.trim().split(/\s+/).filter(Boolean).map((word) => [...word][0]).slice(0, 3).join("").toUpperCase();

/** @param {string} pin @returns {string | null} */
export const checkPin = (pin) => (pin === "" || /^\d{4,8}$/.test(pin) ? null : "The PIN must be 4 to 8 digits. Leave it empty for none.");

/** @param {{ person: string, initials: string, pin: string }} values */
export function checkPerson({ person, initials, pin }) {
  const short = initials.trim();
  return {
    errors: {
      person: named(person, "The name", 80),
      initials: [...short].length > 4 ? `Initials are ${[...short].length} letters long. Keep them to 4.` : null,
      pin: checkPin(pin),
    },
    body: { name: person.trim(), initials: short || initialsFrom(person) },
  };
}

/** @param {{ form: any, own?: boolean }} props `own`: it is the reader */
export function PersonFields({ form, own }) {
  return html`<${TextField} label=${own ? "Your name" : "Name"} maxLength=${80} autocomplete=${own ? "name" : "off"} ...${form.field("person")} />
    <${TextField} label="Initials" optional hint="They stand beside every entry in the record." maxLength=${4} placeholder=${initialsFrom(form.values.person)} ...${form.field("initials")} />
    <${TextField} label="PIN" optional type="tel" maxLength=${8}
      hint="4 to 8 digits. It says who is at the phone; it is no lock." ...${form.field("pin")} />`;
}
