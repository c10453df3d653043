// What the wearing-part page draws and says, worked out from the part's document: pure, so that it can be tested.
import { figure } from "../../kit/numbers.js";
import { plainDay } from "../ahead/words.js";

/** @typedef {{ from: string, to: string, reason: string, ended: "failed" | "early", lived: number | null, grade?: string, material?: string, edge?: string, tool?: string, stick_out?: { value: number, unit: string } }} Life */
/** @typedef {Omit<Partial<Life>, "ended" | "from" | "to"> & { lived: number | null, at: string }} Running */
/** @typedef {{ ended: "failed" | "early" | "running", lived: number, x: number, y: number, index: number }} Dot `x`, `y` in shares of the drawing, y from below */

export const WORDS = { failed: "worn or broken", early: "changed early", running: "running now" };

/** Three figures are more than the lives can tell. @param {number | null | undefined} value */
export function rough(value) {
  if (value === null || value === undefined) return "–";
  return figure(value === 0 ? 0 : Number(value.toPrecision(3)));
}

/** "689 (258 to 1220)"; a side that the lives do not bound is said. @param {number} value @param {(number | null)[]} range */
export function withRange(value, [low, high]) {
  if (low === null && high === null) return `${rough(value)} (no bounds yet)`;
  if (low === null) return `${rough(value)} (up to ${rough(high)})`;
  return high === null ? `${rough(value)} (${rough(low)} or more)` : `${rough(value)} (${rough(low)} to ${rough(high)})`;
}

/** A round figure that the axis can end at. @param {number} most */
export function topOf(most) {
  if (!(most > 0)) return 1;
  const size = 10 ** Math.floor(Math.log10(most));
  const step = [1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].find((one) => one * size >= most) ?? 10;
  return step * size;
}

/**
 * The lives in order, oldest first, the one that runs last. What has no length is left out.
 * @param {Life[]} lives newest first @param {Running | null} fitted @returns {{ dots: Dot[], top: number }}
 */
export function dotsOf(lives, fitted) {
  const ended = [...lives].reverse().map(({ ended: how, lived }) => ({ ended: how, lived }));
  /** @type {{ ended: Dot["ended"], lived: number | null }[]} */
  const all = fitted ? [...ended, { ended: /** @type {const} */ ("running"), lived: fitted.lived }] : ended;
  const top = topOf(Math.max(...all.map(({ lived }) => lived ?? 0), 0));
  const dots = all.flatMap(({ ended: how, lived }, index) => (lived === null ? [] : [{
    ended: how, lived, index, x: (index + 0.5) / all.length, y: Math.max(0, lived) / top,
  }]));
  return { dots, top };
}

/** The survival at an age on a line of points that falls with age. @param {[number, number][]} line @param {number} age */
function along(line, age) {
  const after = line.findIndex(([at]) => at >= age);
  if (after === 0) return line[0][1];
  if (after < 0) return null;
  const [[x0, y0], [x1, y1]] = [line[after - 1], line[after]];
  return x1 === x0 ? y1 : y0 + ((y1 - y0) * (age - x0)) / (x1 - x0);
}

/** The share of the lives themselves that reached an age (product-limit steps). @param {[number, number][]} steps @param {number} age */
function stepAt(steps, age) {
  let share = 1;
  for (const [at, surviving] of steps) if (at <= age) share = surviving;
  return share;
}

/**
 * The curve's rows for the chart: ages, the fitted share in %, its range where one is given, and the lives' own steps.
 * @param {{ curve: [number, number][], steps: [number, number][], band?: { surviving: number, low: number | null, high: number | null }[] }} fit
 */
export function curveOf({ curve, steps, band = [] }) {
  const ages = [...new Set([...curve.map(([age]) => age), ...steps.map(([age]) => age)])].sort((a, b) => a - b);
  const percent = (/** @type {number | null} */ share) => (share === null ? null : Math.round(share * 1000) / 10);
  const line = (/** @type {"low" | "high"} */ side) => /** @type {[number, number][]} */ ([[0, 1], ...band.flatMap((one) => {
    const age = one[side];
    return age === null ? [] : [[age, one.surviving]];
  })]);
  const [low, high] = [line("low"), line("high")];
  return {
    ages, fitted: ages.map((age) => percent(along(curve, age))), steps: ages.map((age) => percent(stepAt(steps, age))),
    least: band.length ? ages.map((age) => percent(along(low, age))) : null,
    most: band.length ? ages.map((age) => percent(along(high, age))) : null,
  };
}

/** "one in ten goes within 563 sq in from here, half within 1930, nine in ten within 4050". @param {{ left: number[] }} left @param {string} unit */
export function sayLeft({ left: [early, half, late] }, unit) {
  return `One in ten goes within ${rough(early)} ${unit} from here, half within ${rough(half)}, nine in ten within ${rough(late)}.`;
}

/** The same in time, where the meter's use is known. @param {{ left: number[] }} left @param {string} unit @param {number | null | undefined} aWeek */
export function sayLeftInTime({ left }, unit, aWeek) {
  if (!aWeek || aWeek <= 0) return "";
  const weeks = left.map((one) => figure(one / aWeek, one / aWeek < 10 ? 1 : 0));
  return `At about ${rough(aWeek)} ${unit} a week that is ${weeks[0]}, ${weeks[1]} and ${weeks[2]} weeks.`;
}

/** "10 lives ended: 9 worn or broken, 1 changed early". @param {{ ended: number, failed: number, early: number }} listed */
export function sayListed({ ended, failed, early }) {
  if (!ended) return "No life has ended yet.";
  const which = !early ? `${ended > 1 ? "all " : ""}worn or broken` : !failed ? `${ended > 1 ? "all " : ""}changed early` : `${figure(failed)} worn or broken, ${figure(early)} changed early`;
  return `${ended === 1 ? "1 life has" : `${figure(ended)} lives have`} ended: ${which}.`;
}

/** What is known of one life beyond its length. @param {Partial<Life>} life */
export function notesOf({ grade, material, edge, tool, stick_out }) {
  return [tool && `tool ${tool}`, grade, material && (material === "mixed" ? "several alloys" : `mostly ${material}`), edge, stick_out && `stick-out ${figure(stick_out.value, 3)} ${stick_out.unit}`].filter(Boolean).join(", ");
}

/** What the drawer lasts, with its range. @param {{ dates: (string | null)[] } | null} lasts @param {string} today */
export function sayLasts(lasts, today) {
  if (!lasts) return "";
  const [early, likely, late] = lasts.dates.map((day) => (day ? plainDay(day, today) : null));
  if (!likely) return early ? `not before ${early}, likely for more than two years` : "more than two years";
  return `until about ${likely} (${early ?? "?"} to ${late ?? "more than two years on"})`;
}

/** @typedef {{ name: string, said: string, typical: string, start: number, width: number, mark: number | null, sure: boolean }} Group places in % of the axis */

/** What half of a group's lives reach: by its curve with the range, else the middle one of the list. @param {{ listed: any, fit: any }} study @returns {{ middle: number | null, range: [number | null, number | null] | null }} */
const typicalOf = ({ listed, fit }) => (fit ? { middle: fit.median, range: fit.median_range } : { middle: listed.median, range: null });

/**
 * Groups of lives side by side on one axis, in the order given.
 * @param {Record<string, { listed: any, fit: any }>} studies @param {string} unit @returns {{ rows: Group[], top: number }}
 */
export function groupsOf(studies, unit) {
  const all = Object.entries(studies).map(([name, study]) => ({ name, study, ...typicalOf(study) }));
  const top = topOf(Math.max(...all.map(({ middle, range }) => range?.[1] ?? middle ?? 0), 0));
  const place = (/** @type {number} */ value) => Math.round(Math.min(value / top, 1) * 10_000) / 100;
  const rows = all.map(({ name, study: { listed, fit }, middle, range }) => {
    const [start, end] = [place(range?.[0] ?? 0), place(range?.[1] ?? top)];
    const counts = listed.ended ? `${figure(listed.ended)} ended, ${figure(listed.failed)} of them worn or broken` : "none ended yet";
    return {
      name: name === "mixed" ? "several alloys" : name, said: fit ? `${counts}; B10 ${withRange(fit.b10, fit.b10_range)} ${unit}` : `${counts}: too few for a range`,
      typical: middle === null ? "none ended" : `${range ? withRange(middle, range) : rough(middle)} ${unit}`,
      start, width: range ? Math.round((end - start) * 100) / 100 : 0, mark: middle === null ? null : place(middle), sure: range !== null,
    };
  });
  return { rows, top };
}
