// Day and night: follows the phone unless somebody chose.
import { signal } from "@preact/signals";

const KEY = "wayround.theme";

/** @typedef {"auto" | "day" | "night"} Theme */

/** What was chosen on this device. */
export const theme = signal(/** @type {Theme} */ ("auto"));

/** @returns {Theme} */
function remembered() {
  try {
    const kept = localStorage.getItem(KEY);
    return kept === "day" || kept === "night" ? kept : "auto";
  } catch {
    return "auto"; // storage can be forbidden; the phone's own setting still rules
  }
}

/** @param {Theme} chosen */
export function setTheme(chosen) {
  theme.value = chosen;
  if (chosen === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = chosen;
  try {
    localStorage.setItem(KEY, chosen);
  } catch {
    // the choice then lasts until the page is closed
  }
}

/** Put the remembered choice on the page; called once at start. */
export function startTheme() {
  setTheme(remembered());
}
