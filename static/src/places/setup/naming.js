// Names as typed: what is wrong with one, in words that say the mend.

/** @param {string} text @param {string} label @param {number} longest @returns {string | null} */
export function named(text, label, longest) {
  if (!text.trim()) return `${label} is empty. Write at least a word.`;
  return text.trim().length > longest ? `${label} is ${text.trim().length} letters long. Keep it to ${longest}.` : null;
}
