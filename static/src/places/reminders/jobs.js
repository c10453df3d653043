// The jobs of the server's scheduler, in plain words.

/** A job by its name: what fails, and what follows. @type {Record<string, [string, string]>} */
const JOBS = {
  "daily roll": ["What falls due each night is not worked out", "Phones still judge it by themselves."],
  reminders: ["Nobody is reminded", "What is due still stands below, at each machine."],
  digest: ["The day's digest is not made", "What is due still stands below, at each machine."],
  messages: ["Messages by push and mail do not go out", "What they would say stands here."],
  purge: ["Old reminders are not cleared out", "Nothing is lost by it."],
  backup: ["The nightly backup is not made", "Until it is, the record stands in one place only."],
  feeds: ["Machines that count themselves are not read", "Their meters stand still until they are."],
};

/** What is wrong with a job, and what follows. @param {string} job @returns {[string, string]} */
export const sayJob = (job) => JOBS[job] ?? [`The server's job "${job}" fails`, ""];
