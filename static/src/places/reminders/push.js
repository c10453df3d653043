// Messages to this phone while the app is shut: what that is, asked for by a press and never before, and how to end it.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, Notice, Section, sayWhen } from "../../kit/index.js";
import { ask, session } from "../../store/index.js";
import { hindered, mend, signOff, signUp, stateOf } from "../../store/webpush.js";
import { nameOf } from "../names.js";
import { calendar, world } from "../world.js";

/** @typedef {import("../../store/webpush.js").Ways} Ways */
/** @typedef {import("../../store/webpush.js").PushState} PushState */

/** Why not, and what to do about it. @type {Record<string, [string, string]>} */
const HINDERED = {
  insecure: ["Messages need the shop's https address.", "This page was opened by http, where browsers allow none. Open the https address that Devices shows, and trust the shop's certificate on this phone as the README says."],
  "home screen": ["On this phone messages need the home screen.", "Press the share button, then Add to Home Screen; open Wayround from there and come back to this page."],
  unsupported: ["This browser takes no messages.", "Use another browser on this phone, or mail, or the calendar below. What stands for you is on Today in any case."],
  denied: ["Messages are forbidden in this browser.", "It was answered so once, and only the browser's own settings undo it: open the site settings of this address (the mark beside it), allow notifications, and load this page anew."],
};

/** @param {unknown} error */
const told = (error) => (error instanceof Error ? error.message : String(error));

const parts = async () => {
  const { pushManager } = await navigator.serviceWorker.ready;
  return { manager: /** @type {any} */ (pushManager), ask };
};

/** How this phone stands, and what was changed behind its back mended on the way. @param {Ways | null} ways @param {string} device @param {string} person @param {() => unknown} again */
function useHeld(ways, device, person, again) {
  const [state, setState] = useState(/** @type {PushState | null} */ (null));
  const look = async () => {
    const why = hindered();
    if (why || !ways) return setState(why);
    const own = await parts();
    if (Notification.permission === "granted" && (await mend(own, device).catch(() => false))) return again();
    setState(stateOf(ways, device, person, await own.manager.getSubscription()));
  };
  useEffect(() => { look().catch(() => setState("unsupported")); }, [ways, device, person]);
  return { state, look };
}

/** @param {{ ways: Ways | null, person: import("../../store/types.js").Definition, off: boolean, again: () => Promise<unknown> }} props `off`: the server cannot be asked */
export function PushHere({ ways, person, off, again }) {
  const device = session.value.device?.id ?? "";
  const { state, look } = useHeld(ways, device, person.id, again);
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const doing = (/** @type {() => Promise<unknown>} */ work) => async () => {
    setProblem(null);
    try {
      await work();
      await again();
    } catch (error) {
      setProblem(told(error));
      await look().catch(() => {}); // it may be forbidden by now
    }
  };
  const on = doing(async () => {
    if ((await Notification.requestPermission()) !== "granted") throw new Error("It was not allowed, so nothing is switched on. Press again to be asked again; some browsers ask only once.");
    await signUp(await parts(), /** @type {Ways} */ (ways).key, person.id).catch((error) => {
      throw error?.offline === undefined && error?.name !== "Problem" ? new Error(`The browser's push service did not take it (${told(error)}). Messages come through it: see that this phone has internet, then press again.`) : error;
    });
  });
  const end = doing(async () => signOff(await parts(), /** @type {Ways} */ (ways), device));
  const row = ways?.subscriptions.find((one) => one.device === device);
  const since = row && sayWhen(row.made_at, { zone: calendar.value.zone, now: world.value.now });
  return html`<${Section} title="Messages on this phone">${problem && html`<p class="field-error" role="alert">${problem}</p>`}
    ${state && HINDERED[state] ? html`<${Notice} title=${HINDERED[state][0]}>${HINDERED[state][1]}<//>`
    : state === "on" ? html`<p><b>On for ${person.name}</b>, since ${since}. A message can be answered "Done" or "Later" without opening the app, also without signal.</p>
      <div class="row"><${Button} line off=${off} onPress=${end}>Switch off on this phone<//></div>`
    : html`<p>${state === "elsewhere" ? html`<b>On for ${nameOf(row?.person ?? "")}.</b> A phone tells one person.` : "Off. Switched on, this phone tells you what needs you while the app is shut: within the shop's hours, each thing once, several in one."}</p>
      <p class="soft">The browser asks you first. Messages are sealed for this phone alone; they come through the push service of the browser's maker, so they need the internet.</p>
      <div class="row"><${Button} off=${off || !ways || state === null} onPress=${on}>${state === "elsewhere" ? `Tell ${person.name} instead` : "Switch on, and let the browser ask"}<//>
        ${state === "elsewhere" && html`<${Button} line off=${off} onPress=${end}>Switch off on this phone<//>`}</div>`}<//>`;
}
