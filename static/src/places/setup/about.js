// About: what Wayround is, and what it is not.
import { html } from "htm/preact";
import { DEFERENCE, Facts, Section } from "../../kit/index.js";
import { session } from "../../store/index.js";
import { SetupPage } from "./frame.js";

export function About() {
  return html`<${SetupPage} title="About" on="about" open><${Section} title="What it is">
      <p>Wayround tells the people of a small metal shop each morning whether their machines are fit to start and what is due, and keeps a record that stands up later. It works on a phone without signal.</p><//>
    <${Section} title="What it is not"><p>It records and computes; it authorises nothing. A number below a limit is below the limit, and no more than that. ${DEFERENCE}</p>
      <p>The figures of the starter library are starting figures. Each names its source, or says that it has none.</p><//>
    <${Section} title="This copy"><${Facts} rows=${[["Shop", session.value.shop ?? "not set up"], ["App", html`<span class="num">${__APP_VERSION__}</span>`], ["Demo", session.value.demo ? "yes: an invented shop" : "no"]]} /><//><//>`;
}
