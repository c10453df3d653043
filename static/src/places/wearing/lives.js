// The lives of a part as dots in order: a filled diamond was worn or broken, a ring was changed early, an arrow still runs.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { figure } from "../../kit/index.js";
import { WORDS, dotsOf, notesOf, rough } from "./points.js";

/** @typedef {import("./points.js").Dot} Dot */

const [HIGH, LEFT, FOOT, TOP, RIGHT] = [200, 66, 14, 36, 14];

/** @type {Record<Dot["ended"], string>} paths around nought */
const SHAPES = { failed: "M0-8L8 0L0 8L-8 0z", early: "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0", running: "M-7 5L0-8L7 5z" };

/** @param {{ ended: Dot["ended"], size?: number }} props */
export function Shape({ ended, size = 18 }) {
  return html`<svg class="life-shape" width=${size} height=${size} viewBox="-10 -10 20 20" aria-hidden="true"><path class=${`life-${ended}`} d=${SHAPES[ended]} /></svg>`;
}

/** @param {Dot} dot @param {number} wide */
const placeOf = ({ x, y }, wide) => [LEFT + x * (wide - LEFT - RIGHT), HIGH - FOOT - y * (HIGH - FOOT - TOP)];

/** How wide the drawing's box is, kept up with. */
function useWidth() {
  const box = useRef(/** @type {HTMLDivElement | null} */ (null));
  const [wide, setWide] = useState(340);
  useEffect(() => {
    const fit = new ResizeObserver(([{ contentRect }]) => setWide(Math.max(200, Math.round(contentRect.width))));
    if (box.current) fit.observe(box.current);
    return () => fit.disconnect();
  }, []);
  return { box, wide };
}

/** @typedef {{ lives: import("./points.js").Life[], fitted: import("./points.js").Running | null, unit: string, say: (at: string) => string }} LivesProps */

/** @param {LivesProps & { plain: boolean }} props `plain`: too few for a curve, so the list stands open */
export function Lives({ lives, fitted, unit, say, plain }) {
  const { dots, top } = dotsOf(lives, fitted);
  const [at, setAt] = useState(-1);
  const { box, wide } = useWidth();
  const shown = dots.at(Math.min(at, dots.length - 1));
  const told = (/** @type {Dot} */ dot) => {
    const life = dot.ended === "running" ? null : lives[lives.length - 1 - dot.index];
    const notes = notesOf(life ?? fitted ?? {});
    const when = life ? `${say(life.from)} to ${say(life.to)}, ${life.reason.toLowerCase()}` : `since ${say(/** @type {any} */ (fitted).at)}`;
    return `${figure(dot.lived, 1)} ${unit}, ${WORDS[dot.ended]}: ${when}${notes ? `; ${notes}` : ""}.`;
  };
  const move = (/** @type {KeyboardEvent} */ event) => {
    const here = dots.indexOf(/** @type {Dot} */ (shown));
    const to = { ArrowLeft: here - 1, ArrowRight: here + 1, Home: 0, End: dots.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    setAt(Math.max(0, Math.min(dots.length - 1, to)));
  };
  const touch = (/** @type {PointerEvent} */ event) => {
    const x = event.clientX - /** @type {Element} */ (event.currentTarget).getBoundingClientRect().left;
    const away = dots.map((dot) => Math.abs((placeOf(dot, wide)[0] ?? 0) - x));
    setAt(away.indexOf(Math.min(...away)));
  };
  if (!dots.length) return null;
  const kinds = /** @type {Dot["ended"][]} */ (["failed", "early", "running"]).filter((kind) => dots.some(({ ended }) => ended === kind));
  return html`<figure class="chart"><ul class="chart-key">${kinds.map((kind) => html`<li key=${kind}><${Shape} ended=${kind} />${WORDS[kind]}</li>`)}</ul>
    <div class="chart-box life-box" ref=${box} tabindex="0" role="group" aria-label="Lives in order, oldest first: chart. Left and right move along it." onKeyDown=${move} onPointerDown=${touch}>
    <${Drawing} wide=${wide} dots=${dots} top=${top} unit=${unit} shown=${shown} /></div>
    <p class="chart-said" aria-live="polite">${shown && told(shown)}</p>
    <details class="chart-table" open=${plain || undefined}><summary>As a list</summary><${List} lives=${lives} fitted=${fitted} unit=${unit} say=${say} /></details></figure>`;
}

/** @param {LivesProps} props */
function List({ lives, fitted, unit, say }) {
  const long = (/** @type {number | null} */ lived) => (lived === null ? "not counted" : html`<span class="num">${figure(lived, 1)}</span> ${unit}`);
  const more = (/** @type {string} */ notes) => notes && `; ${notes}`;
  return html`<ul class="life-list">${fitted && html`<li><${Shape} ended="running" /><b>${long(fitted.lived)}</b><span class="soft">${WORDS.running}, since ${say(fitted.at)}${more(notesOf(fitted))}</span></li>`}
    ${lives.map((life) => html`<li key=${life.to}><${Shape} ended=${life.ended} /><b>${long(life.lived)}</b><span class="soft">${life.reason}, ${say(life.from)} to ${say(life.to)}${more(notesOf(life))}</span></li>`)}</ul>`;
}

/** @param {{ wide: number, dots: Dot[], top: number, unit: string, shown: Dot | undefined }} props */
function Drawing({ wide, dots, top, unit, shown }) {
  const small = (wide - LEFT) / dots.length < 16;
  const line = (/** @type {number} */ share) => HIGH - FOOT - share * (HIGH - FOOT - TOP);
  return html`<svg class="life-plot" width=${wide} height=${HIGH} aria-hidden="true"><path class="life-grid" d=${[0, 0.5, 1].map((share) => `M${LEFT} ${line(share)}H${wide}`).join("")} />
    <text class="life-unit" x="6" y="17">${unit}</text>${[0, 0.5, 1].map((share) => html`<text key=${share} x=${LEFT - 8} y=${line(share) + 5}>${rough(top * share)}</text>`)}
    ${dots.map((dot) => { const [x, y] = placeOf(dot, wide);
      return html`<path class="life-stem" d=${`M${x} ${y}V${HIGH - FOOT}`} /><g key=${dot.index} transform=${`translate(${x} ${y})${small ? " scale(0.7)" : ""}`}>${dot === shown && html`<path class="life-shown" d="M-12-12H12V12H-12z" />`}<path class=${`life-${dot.ended}`} d=${SHAPES[dot.ended]} /></g>`; })}</svg>`;
}
