// A chart that works by touch and by keyboard, with the same figures as a table. The drawing itself is uPlot, fetched
// when the first chart is opened.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { figure } from "./numbers.js";
import { theme } from "./theme.js";

/** @typedef {import("uplot")} UPlot */
/**
 * @typedef {object} Series a row of values over the same places along x; null where there is none
 * @property {string} name
 * @property {string} unit
 * @property {(number | null)[]} values
 * @property {"line" | "curve" | "dots" | "marks" | "steps" | "bars" | "dashes"} [draw] "line" when left out; a "curve" is a line without its points; "marks" are open diamonds, to lie around the points of another
 * @property {number} [places] decimals, 1 when left out
 */
/** @typedef {{ name: string, value: number }} Limit a level across the whole chart */
/**
 * @typedef {object} Axis
 * @property {string} name what x is, for the table's first column
 * @property {"time" | "number"} kind "time": values are seconds since 1970 UTC
 * @property {number[]} values ascending
 * @property {(value: number) => string} say
 */
/**
 * @typedef {object} ChartProps
 * @property {string} title
 * @property {Axis} x
 * @property {Series[]} series
 * @property {Limit[]} [limits]
 * @property {[number, number]} [good] the stretch of y where all is well, shaded
 * @property {[number, number]} [span] the stretch of y that is shown at least
 * @property {string} [zone] time zone of a time axis
 * @property {number} [height]
 */

const FONT = "12px system-ui, sans-serif";
const INKS = ["--press", "--bronze", "--ink", "--soft"];
const DASHES = [[], [7, 4], [2, 3], [10, 3, 2, 3]];

/** @param {Element} element @param {string} name */
const ink = (element, name) => getComputedStyle(element).getPropertyValue(name).trim();

/** What one place along x says, aloud and below the drawing. @param {ChartProps} props @param {number} index */
export function sayPlace({ x, series }, index) {
  const told = series
    .filter(({ values }) => values[index] !== null && values[index] !== undefined)
    .map(({ name, unit, values, places = 1 }) => `${name} ${figure(values[index], places)} ${unit}`.trim());
  return `${x.say(x.values[index])}: ${told.join(", ") || "nothing"}`;
}

/** @typedef {{ left: number, right: number, top: number, bottom: number }} Box in the canvas's pixels */

/** Where the series run, a point every few pixels. @param {UPlot} plot @returns {[number, number][]} */
function runOf(plot) {
  const [places, ...rows] = plot.data;
  return rows.flatMap((row) => {
    const points = Array.from(places).flatMap((x, at) => (row[at] == null ? [] : [[plot.valToPos(x, "x", true), plot.valToPos(/** @type {number} */ (row[at]), "y", true)]]));
    return points.flatMap(([x, y], at) => {
      const [toX, toY] = points[at + 1] ?? [x, y];
      const steps = Math.max(1, Math.ceil(Math.hypot(toX - x, toY - y) / (6 * devicePixelRatio)));
      return Array.from({ length: steps }, (_, step) => /** @type {[number, number]} */ ([x + ((toX - x) * step) / steps, y + ((toY - y) * step) / steps]));
    });
  });
}

/**
 * Where a level's name hides least: at its right or left end, above it or below, inside the drawing.
 * @param {Box} frame @param {number} width @param {number} height @param {number} y the level @param {[number, number][]} run @param {Box[]} taken by other names
 * @returns {Box}
 */
export function placeName(frame, width, height, y, run, taken) {
  const lefts = [frame.right - width, frame.left];
  const all = [y - height, y].flatMap((top) => lefts.map((left) => ({ left, right: left + width, top, bottom: top + height })));
  const within = all.filter(({ top, bottom }) => top >= frame.top && bottom <= frame.bottom);
  const hides = (/** @type {Box} */ box) => run.filter(([x, at]) => x >= box.left && x <= box.right && at >= box.top && at <= box.bottom).length
    + 1000 * taken.filter((other) => other.left < box.right && box.left < other.right && other.top < box.bottom && box.top < other.bottom).length;
  return (within.length ? within : all).reduce((best, box) => (hides(box) < hides(best) ? box : best));
}

/** Levels across, each with its name where that hides least. @param {UPlot} plot @param {Limit[]} limits */
function drawLimits(plot, limits) {
  const { ctx, bbox } = plot;
  const ratio = devicePixelRatio;
  const frame = { left: bbox.left, right: bbox.left + bbox.width, top: bbox.top, bottom: bbox.top + bbox.height };
  const run = limits.length ? runOf(plot) : [];
  /** @type {Box[]} */
  const taken = [];
  ctx.save();
  ctx.strokeStyle = ctx.fillStyle = ink(plot.root, "--soft");
  ctx.lineWidth = ratio;
  ctx.font = FONT.replace("12px", `${12 * ratio}px`);
  ctx.textAlign = "left";
  ctx.textBaseline = "middle";
  for (const { name, value } of limits) {
    const y = Math.round(plot.valToPos(value, "y", true));
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    ctx.setLineDash([6 * ratio, 4 * ratio]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    ctx.save();
    ctx.setLineDash([]);
    ctx.lineWidth = 4 * ratio;
    ctx.strokeStyle = ink(plot.root, "--ground");
    const box = placeName(frame, ctx.measureText(name).width + 8 * ratio, 20 * ratio, y, run, taken);
    taken.push(box);
    const at = /** @type {const} */ ([box.left + 4 * ratio, (box.top + box.bottom) / 2]);
    ctx.strokeText(name, ...at);
    ctx.restore();
    ctx.fillText(name, ...at);
  }
  ctx.restore();
}

/** Open diamonds, told from points by their shape. @param {UPlot} plot @param {Series[]} series */
function drawMarks(plot, series) {
  const { ctx } = plot;
  const size = 9 * devicePixelRatio;
  ctx.save();
  ctx.lineWidth = 2 * devicePixelRatio;
  ctx.setLineDash([]);
  series.forEach(({ draw, values }, index) => {
    if (draw !== "marks") return;
    ctx.strokeStyle = ink(plot.root, INKS[index % INKS.length]);
    values.forEach((value, at) => {
      if (value === null) return;
      const [x, y] = [plot.valToPos(plot.data[0][at], "x", true), plot.valToPos(value, "y", true)];
      ctx.beginPath();
      for (const [across, up] of [[0, -size], [size, 0], [0, size], [-size, 0]]) ctx.lineTo(x + across, y + up);
      ctx.closePath();
      ctx.stroke();
    });
  });
  ctx.restore();
}

/** @param {UPlot} plot @param {[number, number]} good */
function shade(plot, good) {
  const { ctx, bbox } = plot;
  const [top, bottom] = [Math.max(...good), Math.min(...good)].map((value) => {
    const y = plot.valToPos(value, "y", true);
    return Math.min(Math.max(y, bbox.top), bbox.top + bbox.height);
  });
  ctx.save();
  // The paper's shade is faint by day, so the stretch has edges of its own.
  ctx.fillStyle = ink(plot.root, "--track");
  ctx.fillRect(bbox.left, top, bbox.width, bottom - top);
  ctx.strokeStyle = ink(plot.root, "--edge");
  ctx.lineWidth = devicePixelRatio;
  ctx.beginPath();
  for (const y of [top, bottom]) {
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
  }
  ctx.stroke();
  ctx.restore();
}

/** The stretch of y that holds values and limits, with air. @param {ChartProps} props @returns {[number, number]} */
export function stretchOf({ series, limits = [], good, span }) {
  const all = [...series.flatMap((one) => one.values), ...limits.map((limit) => limit.value), ...(good ?? []), ...(span ?? [])];
  const values = all.flatMap((value) => (value !== null && Number.isFinite(value) ? [value] : []));
  if (!values.length) return [0, 1];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const air = (high - low || Math.abs(high) || 1) * 0.12;
  const floor = low >= 0 && low - air < 0 ? 0 : low - air;
  return [series.some((one) => one.draw === "bars") ? Math.min(0, floor) : floor, high + air];
}

/** @param {typeof import("uplot")} uPlot @param {Series} series @param {number} index */
function seriesOptions(uPlot, { name, draw = "line" }, index) {
  const stroke = (/** @type {UPlot} */ plot) => ink(plot.root, INKS[index % INKS.length]);
  /** @type {import("uplot").Series} */
  const options = { label: name, stroke, width: 2, dash: draw === "dashes" ? [7, 4] : DASHES[index % DASHES.length], spanGaps: true,
    points: { show: draw === "line" || draw === "dots", size: 7, stroke, fill: stroke } };
  if (draw === "dots" || draw === "marks") options.paths = () => null;
  if (draw === "steps") options.paths = uPlot.paths.stepped?.({ align: 1 });
  if (draw === "bars") Object.assign(options, { paths: uPlot.paths.bars?.({ size: [0.7, 48] }), fill: stroke });
  return options;
}

/**
 * @param {typeof import("uplot")} uPlot @param {ChartProps} props @param {number} width
 * @param {(index: number) => void} onPlace @returns {import("uplot").Options}
 */
function optionsOf(uPlot, props, width, onPlace) {
  const { x, series, limits = [], good, zone = "UTC", height = 220 } = props;
  const axis = { stroke: (/** @type {UPlot} */ plot) => ink(plot.root, "--soft"), font: FONT,
    grid: { stroke: (/** @type {UPlot} */ plot) => ink(plot.root, "--line"), width: 1 }, ticks: { show: false } };
  const across = x.kind === "time" ? {} : { size: 30, values: (/** @type {UPlot} */ _, /** @type {number[]} */ splits) => splits.map((value) => x.say(value)) };
  return {
    width, height, padding: [12, 12, 0, 0], legend: { show: false }, cursor: { y: false, drag: { x: false, y: false } },
    tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), zone),
    scales: { x: { time: x.kind === "time" }, y: { range: () => stretchOf(props) } },
    axes: [{ ...axis, ...across }, { ...axis, size: 48 }],
    series: [{}, ...series.map((one, index) => seriesOptions(uPlot, one, index))],
    hooks: {
      drawClear: [(plot) => { if (good) shade(plot, good); }],
      draw: [(plot) => drawLimits(plot, limits), (plot) => drawMarks(plot, series)],
      setCursor: [(plot) => { if (typeof plot.cursor.idx === "number") onPlace(plot.cursor.idx); }],
    },
  };
}

/** A finger moves the cursor as the mouse does. @param {UPlot} plot */
function followFinger(plot) {
  const follow = (/** @type {PointerEvent} */ event) => {
    if (event.pointerType === "mouse") return;
    const { left } = plot.over.getBoundingClientRect();
    plot.setCursor({ left: event.clientX - left, top: 0 });
  };
  plot.over.addEventListener("pointerdown", follow);
  plot.over.addEventListener("pointermove", follow);
}

/** Draw, and draw anew when the size, the theme or the figures change. @param {ChartProps} props @param {(index: number) => void} onPlace */
function useDrawing(props, onPlace) {
  const box = useRef(/** @type {HTMLDivElement | null} */ (null));
  const plot = useRef(/** @type {UPlot | null} */ (null));
  const [failed, setFailed] = useState(false);
  const key = JSON.stringify([props.x.values, props.series, props.limits, props.good]);
  useEffect(() => {
    let gone = false;
    const night = matchMedia("(prefers-color-scheme: dark)");
    const redraw = () => plot.current?.redraw(false, false);
    const fit = new ResizeObserver(([{ contentRect }]) => plot.current?.setSize({ width: contentRect.width, height: props.height ?? 220 }));
    import("uplot").then(({ default: uPlot }) => {
      if (gone || !box.current) return;
      const data = /** @type {import("uplot").AlignedData} */ ([props.x.values, ...props.series.map(({ values }) => values)]);
      plot.current = new uPlot(optionsOf(uPlot, props, box.current.clientWidth, onPlace), data, box.current);
      followFinger(plot.current);
      fit.observe(box.current);
    }).catch(() => setFailed(true));
    night.addEventListener("change", redraw);
    return () => {
      gone = true;
      night.removeEventListener("change", redraw);
      fit.disconnect();
      plot.current?.destroy();
      plot.current = null;
    };
  }, [key]);
  useEffect(() => plot.current?.redraw(false, false), [theme.value]);
  return { box, plot, failed };
}

/** @param {ChartProps} props */
function Table({ x, series }) {
  return html`<div class="chart-scroll"><table><thead><tr><th scope="col">${x.name}</th>
    ${series.map(({ name, unit }) => html`<th scope="col" key=${name}>${name}${unit ? `, ${unit}` : ""}</th>`)}</tr></thead>
    <tbody>${x.values.map((value, index) => html`<tr key=${value}><th scope="row">${x.say(value)}</th>
      ${series.map(({ name, values, places = 1 }) => html`<td key=${name} class="num">${values[index] === null ? "" : figure(values[index], places)}</td>`)}</tr>`)}</tbody></table></div>`;
}

/** How a series is drawn, small. @param {{ draw: Series["draw"], index: number }} props */
function Swatch({ draw, index }) {
  const stroke = `var(${INKS[index % INKS.length]})`;
  if (draw === "marks") return html`<svg width="30" height="20" aria-hidden="true"><path d="M15 1l9 9-9 9-9-9z" fill="none" stroke=${stroke} stroke-width="2" /></svg>`;
  return html`<svg width="30" height="10" aria-hidden="true"><path d="M1 5h28" stroke=${stroke} stroke-width=${draw === "bars" ? 8 : 2.5}
    stroke-dasharray=${draw === "dashes" ? "7 4" : DASHES[index % DASHES.length].join(" ")} /></svg>`;
}

/** @param {{ series: Series[] }} props */
function Key({ series }) {
  if (series.length < 2) return null;
  return html`<ul class="chart-key">${series.map(({ name, draw }, index) => html`<li key=${name}><${Swatch} draw=${draw} index=${index} />${name}</li>`)}</ul>`;
}

/** @param {ChartProps} props */
export function Chart(props) {
  const { title, x, series } = props;
  const last = x.values.length - 1;
  const [at, setAt] = useState(last);
  const { box, plot, failed } = useDrawing(props, setAt);
  const move = (/** @type {KeyboardEvent} */ event) => {
    const to = { ArrowLeft: at - 1, ArrowRight: at + 1, Home: 0, End: last }[event.key];
    if (to === undefined || !plot.current) return;
    event.preventDefault();
    const index = Math.max(0, Math.min(last, to));
    plot.current.setCursor({ left: plot.current.valToPos(x.values[index], "x"), top: 0 });
    setAt(index);
  };
  if (last < 0) return null;
  return html`<figure class="chart"><figcaption>${title}</figcaption><${Key} series=${series} />
    ${failed ? html`<p class="soft">The drawing could not be loaded; the table has the same figures.</p>`
      : html`<div class="chart-box" ref=${box} tabindex="0" role="group" aria-label=${`${title}: chart. Left and right move along it.`} onKeyDown=${move}></div>`}
    <p class="chart-said" aria-live="polite">${sayPlace(props, Math.min(at, last))}</p>
    <details class="chart-table" open=${failed}><summary>As a table</summary><${Table} ...${props} /></details></figure>`;
}
