// Every bench sum by the word in its address, in the order of the tiles.
import { leak, nozzle, pump, worn } from "./air.js";
import { dilution, strength } from "./coolant.js";
import { dose, protector } from "./noise.js";
import { area, band, pull, teeth } from "./saw.js";
import { belt, gap, mixed, speed, wheel } from "./wheels.js";

/** @type {Record<string, import("./sum.js").Sum>} */
export const SUMS = {
  "cut-area": area, teeth, "band-speed": band, tension: pull, strength, dilution, "surface-speed": speed, "grinder-gaps": gap, "wheel-rating": wheel,
  "belt-speed": belt, "mixed-dust": mixed, nozzle, "worn-nozzle": worn, "pump-up": pump, leak, noise: dose, "under-protector": protector,
};
