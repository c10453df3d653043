// Time zones by their IANA names, and what this device is and where it stands.

/** The phone's own zone. */
export const ownZone = () => Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";

/**
 * Every zone this browser knows, with those that must be among them.
 * @param {...(string | null | undefined)} also
 * @returns {import("../../kit/forms.js").Option[]}
 */
export function zoneOptions(...also) {
  const known = typeof Intl.supportedValuesOf === "function" ? Intl.supportedValuesOf("timeZone") : [];
  const all = new Set(["UTC", ...known, ...also.filter((zone) => typeof zone === "string" && zone !== "")]);
  return [...all].sort().map((zone) => ({ value: String(zone), text: String(zone).replaceAll("_", " ") }));
}

/** What to call this device until somebody says better. @param {string} agent the browser's user agent @param {boolean} coarse a finger points */
export function guessDevice(agent, coarse) {
  if (/\bMobile\b|\bMobi\b/.test(agent)) return "Phone";
  return coarse ? "Tablet" : "Desk computer";
}

/** The guess for this browser. */
export const thisDevice = () => guessDevice(navigator.userAgent, matchMedia("(pointer: coarse)").matches);
