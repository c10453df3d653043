// The one shape of a refusal in the core; twin of webapp/core/problems.py.

/** Something given to the core that cannot be used: which field, what is wrong, how to mend it. */
export class Problem extends Error {
  /** @param {string} field @param {string} problem @param {string} mend */
  constructor(field, problem, mend) {
    super(`${field}: ${problem} ${mend}`);
    this.field = field;
    this.problem = problem;
    this.mend = mend;
  }
}
