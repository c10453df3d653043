// What every screen looks at, as one: reading it in a component draws that component again when any of it changes.
import { computed } from "@preact/signals";
import { definitions, now, state } from "../store/index.js";
import { standings, todayOf, zoneOf } from "./standing.js";

/** The three signals together. */
export const world = computed(() => ({ definitions: definitions.value, state: state.value, now: now.value }));

/** Every machine's standing, the most pressing first. */
export const allStandings = computed(() => standings(world.value));

/** The shop's zone and date. */
export const calendar = computed(() => ({ zone: zoneOf(definitions.value), today: todayOf(world.value) }));
