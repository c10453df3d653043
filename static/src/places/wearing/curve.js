// How many parts reach an age: the fitted curve with its range, and the lives' own steps beside it.
import { html } from "htm/preact";
import { Facts, Section } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { curveOf, rough, withRange } from "./points.js";

/** @param {{ fit: any, unit: string }} props */
export function Curve({ fit, unit }) {
  const { ages, fitted, steps, least, most } = curveOf(fit);
  const level = `${Math.round(fit.level * 100)} %`;
  const series = [
    { name: "By the curve", unit: "%", values: fitted, draw: /** @type {const} */ ("curve"), places: 0 },
    { name: "The lives themselves", unit: "%", values: steps, draw: /** @type {const} */ ("steps"), places: 0 },
    ...(least && most ? [
      { name: "at least", unit: "%", values: least, draw: /** @type {const} */ ("dashes"), places: 0 },
      { name: "at most", unit: "%", values: most, draw: /** @type {const} */ ("dashes"), places: 0 }] : []),
  ];
  return html`<${Section} title="How many reach an age" area="curve">
    <${Chart} title=${`Share still good, by age in ${unit}`} x=${{ name: `Age, ${unit}`, kind: /** @type {const} */ ("number"), values: ages, say: (/** @type {number} */ age) => rough(age) }}
      series=${series} limits=${[{ name: "nine in ten", value: 90 }]} />
    <${Facts} rows=${[
      ["One in ten is gone by (B10)", html`<span class="num">${withRange(fit.b10, fit.b10_range)}</span> ${unit}`],
      ["Half are gone by", html`<span class="num">${withRange(fit.median, fit.median_range)}</span> ${unit}`],
      ["Mean life by the curve", html`<span class="num">${rough(fit.mean)}</span> ${unit}`],
      ["Weibull shape, scale", html`<span class="num">${withRange(fit.shape, fit.shape_range)}</span>, <span class="num">${withRange(fit.scale, fit.scale_range)}</span> ${unit}`],
      ["From", `${fit.failed} worn or broken, ${fit.censored} only known to be longer`],
      ["The lives follow the curve", fit.follows],
    ]} />
    <p>${fit.say}</p><p class="soft">Ranges in brackets at ${level}. ${fit.sure}</p><//>`;
}
