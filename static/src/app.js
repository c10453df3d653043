// Start and frame of the app: the nav, the carry line, the update banner, and the place the address names.
import "./styles/index.css";
import { html } from "htm/preact";
import { render } from "preact";
import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { where, startWhere } from "./kit/go.js";
import { startTheme } from "./kit/theme.js";
import { Page, Notice } from "./kit/page.js";
import { Button } from "./kit/forms.js";
import { Carry } from "./shell/carry.js";
import { Banner } from "./shell/banner.js";
import { Here } from "./shell/here.js";
import { person, session, start } from "./store/index.js";

/** @typedef {{ place: string, parts: string[], query: URLSearchParams }} PlaceProps `parts`: the address after the place's own name, which is `place` */
/** @typedef {{ default: import("preact").ComponentType<any> }} PlaceModule */

/** Every place by the first word of its address; loaded when it is gone to, kept on the phone by the service worker.
 * @type {Record<string, () => Promise<PlaceModule>>} */
const PLACES = {
  today: () => import("./places/today.js"),
  shop: () => import("./places/shop.js"),
  machine: () => import("./places/machine.js"),
  wearing: () => import("./places/wearing/index.js"),
  ahead: () => import("./places/ahead/index.js"),
  coolant: () => import("./places/coolant/index.js"),
  sums: () => import("./places/sums/index.js"),
  air: () => import("./places/air/index.js"),
  round: () => import("./places/round.js"),
  records: () => import("./places/records.js"),
  history: () => import("./places/history/index.js"),
  papers: () => import("./places/papers/index.js"),
  phone: () => import("./places/phone.js"),
  log: () => import("./places/log/index.js"),
  tag: () => import("./places/tagging.js"),
  finding: () => import("./places/tagging.js"),
  task: () => import("./places/tagging.js"),
  raise: () => import("./places/tagging.js"),
  setup: () => import("./places/setup/index.js"),
  first: () => import("./places/first.js"),
  signin: () => import("./places/signin.js"),
  join: () => import("./places/join.js"),
  who: () => import("./places/who.js"),
};

const NAV = [
  ["today", "Today"],
  ["shop", "Shop"],
  ["log", "Log"],
  ["air", "Air & dust"],
  ["records", "Records"],
  ["setup", "Set-up"],
];

/** Which entry of the nav a place belongs to. @type {Record<string, string>} */
const BELONGS = { round: "today", machine: "shop", wearing: "shop", ahead: "today", coolant: "shop", sums: "log", tag: "shop", finding: "shop", task: "today", raise: "shop", history: "records", papers: "records", phone: "records", who: "" };

/** The places that are loaded by now. */
const loaded = signal(/** @type {Record<string, PlaceModule["default"]>} */ ({}));
const failed = signal(/** @type {string | null} */ (null));

/** @param {string} name */
async function load(name) {
  failed.value = null;
  try {
    const place = await PLACES[name]();
    loaded.value = { ...loaded.value, [name]: place.default };
  } catch {
    failed.value = name;
  }
}

/** The place to show: who this browser is comes before where it wants to go. */
function placeName() {
  const { phase } = session.value;
  const wanted = where.value.parts[0] ?? "today";
  if (phase === "first run") return "first";
  if (phase === "not joined") return wanted === "signin" ? "signin" : "join";
  if (!person.value && !["signin", "setup"].includes(wanted)) return "who";
  return wanted in PLACES ? wanted : "today";
}

function Place() {
  const name = placeName();
  const found = loaded.value[name];
  useEffect(() => {
    if (!found) load(name);
  }, [name, found]);
  const { parts, query } = where.value;
  useEffect(() => {
    scrollTo(0, 0);
    /** @type {HTMLElement | null} */ (document.querySelector("h1"))?.focus({ preventScroll: true });
  }, [name, parts.join("/"), Boolean(found)]);
  if (failed.value === name) {
    return html`<${Page} title="Not loaded"><${Notice} live title="This part of the app could not be loaded.">
      It is fetched once and then kept on this phone. Go where there is signal and try again.<//>
      <${Button} onPress=${() => load(name)}>Try again<//><//>`;
  }
  return found ? html`<${found} key=${parts.join("/")} place=${name} parts=${parts.slice(1)} query=${query} />` : html`<${Page} title="" />`;
}

function Nav() {
  const name = placeName();
  const on = BELONGS[name] ?? name;
  return html`<nav class="nav" aria-label="Places">${NAV.map(
    ([place, word]) => html`<a key=${place} href=${`#/${place}`} aria-current=${place === on ? "page" : undefined}>${word}</a>`,
  )}</nav>`;
}

function Shell() {
  const { phase } = session.value;
  if (phase === "starting") return html`<${Page} title="Wayround" />`;
  if (phase === "unreachable") {
    return html`<${Page} title="Wayround"><${Notice} live title="The server cannot be reached, and nothing is kept on this phone yet.">
      Check that this phone is on the shop's network, then try again.<//><${Button} onPress=${start}>Try again<//><//>`;
  }
  const inside = phase === "joined" && placeName() !== "round";
  return html`<div class=${inside ? "shell" : "shell shell-out"}>
    <div class="shell-main"><${Banner} />${phase === "joined" && html`<${Carry} />`}<main>${inside && html`<${Here} />`}<${Place} /></main></div>
    ${inside && html`<${Nav} />`}
  </div>`;
}

startTheme();
startWhere();
render(html`<${Shell} />`, /** @type {HTMLElement} */ (document.getElementById("app")));
start();
