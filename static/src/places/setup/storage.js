// This device: what it keeps and whether the browser promised to keep it, what is unsent, and leaving the shop.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, ButtonLink, Facts, Notice, Section, counted, figure, go, sayWhen } from "../../kit/index.js";
import { bringOver, leave, leftBehind, link, photos, session, storage, synced, syncNow, tray, unsent } from "../../store/index.js";
import { calendar } from "../world.js";
import { SetupPage } from "./frame.js";
import { InstallHint } from "./install.js";

/** @param {unknown} error */
const told = (error) => (error instanceof Error ? error.message : String(error));

const MEGA = 1_000_000;

/** How much is kept, as the browser tells it. @returns {string | null} */
function useKept() {
  const [said, setSaid] = useState(/** @type {string | null} */ (null));
  useEffect(() => {
    const asked = globalThis.navigator.storage?.estimate?.();
    asked?.then(({ usage = 0, quota = 0 }) => setSaid(`${figure(usage / MEGA, 1)} MB of ${figure(quota / MEGA, 0)} MB`), () => {});
  }, []);
  return said;
}

/** What the browser promised, in words. @param {string | null} promise */
function sayPromise(promise) {
  if (promise === "kept") return "The browser keeps it";
  return promise === "may be cleared" ? "The browser may clear it" : promise ?? "Not said by the browser";
}

/** What an earlier enrolment left here. */
function LeftBehind() {
  const [left, setLeft] = useState(/** @type {{ device: string, count: number }[]} */ ([]));
  const [said, setSaid] = useState(/** @type {string | null} */ (null));
  const look = () => leftBehind().then(setLeft, (error) => setSaid(told(error)));
  useEffect(() => { void look(); }, []);
  const bring = async (/** @type {string} */ device) => {
    try {
      const { entries, photos: pictures } = await bringOver(device);
      setSaid(`Taken over: ${counted(entries, "entry", "entries")} and ${counted(pictures, "photo")}. They are sent in the old name.`);
      await look();
    } catch (error) {
      setSaid(`It is not taken over: ${told(error)}`);
    }
  };
  return html`${left.map(({ device, count }) => html`<${Notice} key=${device} live title=${`${counted(count, "entry or photo", "entries or photos")} are left here from before.`}>This browser was in the shop under another name and had not sent them.
      <div class="row"><${Button} onPress=${() => bring(device)}>Take them over and send them<//></div><//>`)}${said && html`<p role="status">${said}</p>`}`;
}

function Leave() {
  const [asking, setAsking] = useState(false);
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const waiting = unsent.value + tray.value.length + photos.value.length;
  const out = async (/** @type {boolean} */ keepUnsent) => {
    try {
      await leave(keepUnsent);
      go("join", { replace: true });
    } catch (error) {
      setProblem(told(error));
    }
  };
  if (!asking) return html`<div class="row"><${Button} line onPress=${() => setAsking(true)}>Leave the shop with this device<//></div>`;
  return html`<div class="sure" role="alert"><p><b>Leave the shop?</b> This device needs a new code to come back; what it sent stays in the record. Leaving needs signal.</p>
    ${waiting > 0 && html`<p><b>${counted(waiting, "entry or photo", "entries and photos")} not sent.</b> Save them to a file first (under <a href="#/phone">what is unsent</a>), or they stay here until this browser joins again.</p>`}
    ${problem && html`<p class="field-error" role="alert">${problem}</p>`}
    <div class="row"><${Button} onPress=${() => out(waiting > 0)}>${waiting > 0 ? "Leave, and keep what is unsent here" : "Leave"}<//><${Button} line onPress=${() => setAsking(false)}>Stay<//></div></div>`;
}

export function StoragePage() {
  const kept = useKept();
  const { zone } = calendar.value;
  return html`<${SetupPage} title="This device" on="storage" open><${LeftBehind} />
    <${Section} title="What it keeps"><${Facts} rows=${[
      ["Called", session.value.device?.name ?? "not enrolled"], ["Storage", sayPromise(storage.value)], ["Kept here", kept ?? "Not said by the browser"],
      ["Entries not sent", html`<span class="num">${unsent.value}</span>`], ["Photos not sent", html`<span class="num">${photos.value.length}</span>`], ["Refused entries", html`<span class="num">${tray.value.length}</span>`],
      ["Last in step with the server", synced.value ? sayWhen(synced.value, { zone }) : "not yet"], ["App", html`<span class="num">${__APP_VERSION__}</span>`],
    ]} />
      ${storage.value === "may be cleared" && html`<${Notice}>Browsers clear storage when it runs short. From the home screen the app is less likely to be cleared.<//>`}
      <div class="row"><${Button} line off=${link.value === "here" && unsent.value === 0} onPress=${syncNow}>Send now<//><${ButtonLink} line href="#/phone">What is unsent, files, day or night<//></div><//>
    <${InstallHint} /><${Section} title="Leaving"><${Leave} /><//><//>`;
}
