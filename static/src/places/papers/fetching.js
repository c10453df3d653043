// Files made by the server: fetched, and handed to the browser to keep; what went wrong is said in words.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button } from "../../kit/index.js";

/** Where an answer of the server's papers is. @param {string} path @param {Record<string, string | undefined>} [query] what is left empty is not asked */
export function addressOf(path, query = {}) {
  const asked = new URLSearchParams(Object.entries(query).flatMap(([key, value]) => (value ? [[key, value]] : [])));
  return `/api/v1/reports/${path}${asked.size ? `?${asked}` : ""}`;
}

/** The words of a problem document (RFC 9457). @param {any} problem */
function wordsOf(problem) {
  const fault = problem?.errors?.[0];
  return fault ? `${fault.field} ${fault.problem}: ${fault.mend}.` : problem?.detail ?? problem?.title ?? "The server gave no reason.";
}

/** Fetch a file and offer it under its name. @param {string} address @param {string} name */
export async function save(address, name) {
  let answer;
  try {
    answer = await fetch(address, { credentials: "same-origin", cache: "no-store" });
  } catch {
    throw new Error("No answer from the server: papers are made where there is signal.");
  }
  const type = answer.headers.get("content-type") ?? "";
  if (!answer.ok) throw new Error(/json/.test(type) ? wordsOf(await answer.json()) : `The server answered ${answer.status}.`);
  if (/text\/html/.test(type)) throw new Error("Something between this phone and the server answered instead of it. Is this the shop's network?");
  const link = document.createElement("a");
  link.href = URL.createObjectURL(await answer.blob());
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** @param {{ address: string, name: string, text: string, off?: boolean, line?: boolean }} props */
export function SaveButton({ address, name, text, off, line }) {
  const [said, setSaid] = useState(/** @type {{ bad: boolean, text: string } | null} */ (null));
  const press = async () => {
    setSaid(null);
    try {
      await save(address, name);
      setSaid({ bad: false, text: `${name} is with this browser's downloads.` });
    } catch (error) {
      setSaid({ bad: true, text: error instanceof Error ? error.message : String(error) });
    }
  };
  return html`<div class="stack"><div class="row"><${Button} line=${line} off=${off} onPress=${press}>${text}<//></div>
    ${said && html`<p class=${said.bad ? "field-error" : "soft"} role=${said.bad ? "alert" : "status"}>${said.text}</p>`}</div>`;
}
