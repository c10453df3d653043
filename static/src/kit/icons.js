// Own line drawings: 32 x 32, two-unit stroke, drawn in the text's colour.
import { html } from "htm/preact";

/** @type {Record<string, string>} */
const LINES = {
  mill: "M6 28h20M9 28v-4h14v4M5 24h22v-3H5zM11 3h10v7H11zM13 10v4h6v-4M16 14v4M23 6h4v15",
  saw: "M4 28h24M7 28v-8h6M25 28V11M10 4a5 5 0 1 0 0 10a5 5 0 1 0 0-10M24 4a4 4 0 1 1 0 8M10 4h14M10 14l3 0M13 14v6M11 9h-2M13 20h12M16 20l1.5 2 1.5-2 1.5 2 1.5-2 1.5 2",
  sander: "M4 28h24M8 28v-6M24 28v-6M9 8a7 7 0 0 0 0 14h14a7 7 0 0 0 0-14zM9 12a3 3 0 1 0 0 6a3 3 0 1 0 0-6M23 12a3 3 0 1 0 0 6a3 3 0 1 0 0-6M13 4l2 2 2-2 2 2",
  cabinet: "M5 5h22v17H5zM9 9h14v5H9zM7 22v6M25 22v6M9 18.5a2.5 2 0 1 0 5 0a2.5 2 0 1 0-5 0M18 18.5a2.5 2 0 1 0 5 0a2.5 2 0 1 0-5 0M12 5V3h4",
  compressor: "M5 16h22a2 2 0 0 1 2 2v4a2 2 0 0 1-2 2H5a2 2 0 0 1-2-2v-4a2 2 0 0 1 2-2M7 24v4M25 24v4M6 16v-5h8v5M8 11V6h4v5M18 16v-3M18 5a4 4 0 1 0 0 8a4 4 0 1 0 0-8M18 9l2-2M26 16v-6h2",
  extinguisher: "M11 12h10v16H11zM13 12c0-4 6-4 6 0M16 9V6M12 6h8M20 6c5 0 6 4 6 8M11 17h10M11 22h10",
  wash: "M6 20h20M9 20v8M23 20v8M11 20c0-8 4-11 4-14M21 20c0-8-4-11-4-14M6 20c0-3 3-4 5-4M26 20c0-3-3-4-5-4",
  drop: "M16 3c5 7 8 11 8 16a8 8 0 0 1-16 0c0-5 3-9 8-16zM12 19a4 4 0 0 0 4 4",
  blade: "M3 9h26v8l-2.2 4-2.2-4-2.2 4-2.2-4-2.2 4-2.2-4-2.2 4-2.2-4-2.2 4L7.4 17l-2.2 4L3 17z",
  lung: "M16 4v10M16 14l-3 3M16 14l3 3M12 10c-5 1-8 8-8 15 0 3 3 3 6 1.5 2-1 3-2 3-4V12c0-1.5 0-2-1-2zM20 10c5 1 8 8 8 15 0 3-3 3-6 1.5-2-1-3-2-3-4V12c0-1.5 0-2 1-2z",
  ear: "M10 13a7 7 0 1 1 14 0c0 5-5 6-5 11a4 4 0 0 1-7.5 2M13.5 13a3.5 3.5 0 0 1 7 0c0 3-4 3-3.5 6",
  eye: "M3 16c4-7 8-9 13-9s9 2 13 9c-4 7-8 9-13 9s-9-2-13-9zM16 11.5a4.5 4.5 0 1 0 0 9a4.5 4.5 0 1 0 0-9M16 16h.01",
  hand: "M11 18V7a2 2 0 0 1 4 0v8M15 14V5a2 2 0 0 1 4 0v9M19 14V7a2 2 0 0 1 4 0v12c0 6-3 9-7 9-5 0-6-3-8-7l-3-5c-1-2 2-3 3.5-1L11 18",
  other: "M4 28h24M7 28V12h18v16M11 12V7h10v5M12 17h8M12 21h8",
  meter: "M16 5a11 11 0 1 0 0 22a11 11 0 1 0 0-22M16 16l5-5M16 8v2M8 16h2M22 16h2",
  batch: "M4 26h24M6 26v-6h8v6M18 26v-6h8v6M12 20v-6h8v6M9 8h14M20 5l3 3-3 3",
  sum: "M7 4h18v24H7zM11 8h10v5H11zM11 18h2M15 18h2M19 18h2M11 23h2M15 23h2M19 23h2",
  note: "M7 4h14l5 5v19H7zM21 4v5h5M11 14h10M11 19h10M11 24h6",
  stock: "M4 7h24v18H4zM4 13h24M4 19h24M14 10h4M14 16h4M14 22h4",
  camera: "M4 10h6l2-4h8l2 4h6v16H4zM16 13a5 5 0 1 0 0 10a5 5 0 1 0 0-10",
  signal: "M16 26h.01M11 21a7 7 0 0 1 10 0M7 17a13 13 0 0 1 18 0",
  nosignal: "M16 26h.01M11 21a7 7 0 0 1 10 0M7 17a13 13 0 0 1 18 0M5 5l22 22",
  back: "M20 6L10 16l10 10",
  up: "M6 20L16 10l10 10",
  down: "M6 12l10 10l10-10",
  tick: "M6 17l7 7L27 8",
  cross: "M8 8l16 16M24 8L8 24",
  check: "M7 4h18v24H7zM12 4v3h8V4M11 15l3 3 7-7M11 24h10",
  tag: "M4 6h17l7 7v13H4zM9 16a2 2 0 1 0 4 0a2 2 0 1 0-4 0",
};

/** Machine families (library keys and plain words) to their drawing. @type {[RegExp, string][]} */
const FAMILIES = [
  [/mill|machining|lathe|drill|router/, "mill"],
  [/saw/, "saw"],
  [/sand|grind|belt|buff|polish|deburr/, "sander"],
  [/cabinet|blast/, "cabinet"],
  [/compress|receiver|air/, "compressor"],
  [/extinguisher|fire/, "extinguisher"],
  [/wash|shower/, "wash"],
  [/respirator|mask|lung|exhaust|collector/, "lung"],
];

/**
 * One drawing. Decorative unless `label` is given.
 * @param {{ name: string, size?: number, label?: string }} props
 */
export function Icon({ name, size = 28, label }) {
  const spoken = label ? { role: "img", "aria-label": label } : { "aria-hidden": "true" };
  return html`<svg class="icon" width=${size} height=${size} viewBox="0 0 32 32" fill="none" stroke="currentColor"
    stroke-width="2" stroke-linecap="square" stroke-linejoin="miter" ...${spoken}><path d=${LINES[name] ?? LINES.other} /></svg>`;
}

/**
 * The drawing's name for a machine.
 * @param {{ [key: string]: any }} machine a definition
 */
export function iconOf(machine) {
  const words = `${machine.family ?? ""} ${machine.starter ?? ""} ${machine.name ?? ""}`.toLowerCase();
  return FAMILIES.find(([pattern]) => pattern.test(words))?.[1] ?? "other";
}
