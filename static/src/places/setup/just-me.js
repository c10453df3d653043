// "Just me today": the one person of a phone, remembered until the day is over.

const KEY = "wayround.justme";

/** @param {string} device @param {string} today @returns {string | null} the person's id, when it was said today on this device */
export function justMe(device, today) {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null");
    return kept?.device === device && kept.day === today ? kept.id : null;
  } catch {
    return null; // storage can be forbidden; then it is asked again
  }
}

/** @param {{ id: string, day: string, device: string }} said */
export function keepJustMe(said) {
  try {
    localStorage.setItem(KEY, JSON.stringify(said));
  } catch {
    // it is asked again when the app is opened anew
  }
}

export function forgetJustMe() {
  try {
    localStorage.removeItem(KEY);
  } catch {
    // nothing was kept either
  }
}
