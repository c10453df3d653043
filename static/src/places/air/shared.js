// What the pages of Air & dust have in common: the cards, the shop's authorities, alloys used lately.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Notice, dayIn, daysFrom, sayDay } from "../../kit/index.js";
import { cards, definitions, entriesOf, recent } from "../../store/index.js";
import { calendar } from "../world.js";
import { authoritiesOf } from "./limits.js";
import { alloysRun, ranBefore } from "./work.js";

/** How far back an alloy counts as one of these days. */
const LATELY_DAYS = 7;

/** The shop's date of an instant. @param {string} at */
export const dayAt = (at) => dayIn(new Date(at), calendar.value.zone);

/** "yesterday", "11 May". @param {string} at */
export const sayAt = (at) => sayDay(dayAt(at), calendar.value.today);

/** Whose limits the shop goes by. */
export const authorities = () => authoritiesOf(definitions.value.shop);

/** Alloys of the batches of these days, newest first. @param {number} [days] */
export function lately(days = LATELY_DAYS) {
  if (!cards.value) return [];
  const { today } = calendar.value;
  return alloysRun(cards.value, recent.value, (at) => daysFrom(dayAt(at), today) < days);
}

/** Alloys to offer first where one is chosen. */
export const offered = () => lately(30).map(({ alloy }) => alloy);

/** How many of a machine's entries are looked through for what ran there before. */
const LOOKED_BACK = 300;

/** Alloys that ran at a machine before this one, as far back as this phone holds its entries. @param {string} machine an id, or empty @param {string} alloy */
export function useRanBefore(machine, alloy) {
  const [rows, setRows] = useState(/** @type {import("../../store/types.js").ListedEntry[]} */ ([]));
  const newest = recent.value;
  useEffect(() => {
    let here = true;
    if (machine) entriesOf(machine, LOOKED_BACK).then((found) => here && setRows(found), () => {}); // then the newest alone count
    return () => {
      here = false;
    };
  }, [machine, newest]);
  return machine && cards.value ? ranBefore(cards.value, rows.length ? rows : newest, machine, alloy) : [];
}

/** Said where the cards are not on this phone yet. */
export function NoCards() {
  return html`<${Notice} title="The cards are not on this phone yet.">Alloys, media, limits and rules come with the next sync and are kept for
    when there is no signal. Until then read the safety data sheet before the work.<//>`;
}
