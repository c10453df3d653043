// Forms that ask the server: what it refused stands under its field, and a wait it asked for is counted down.
import { useEffect, useState } from "preact/hooks";
import { Problem, session } from "../../store/index.js";
import { byField, secondsToWait } from "./faults.js";

/**
 * @param {Record<string, [string, string]>} fields the server's path -> [the form's field, its label]
 * @param {(errors: Record<string, string | null>) => void} setErrors
 */
export function useAsking(fields, setErrors) {
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const [wait, setWait] = useState(0);
  useEffect(() => {
    if (wait <= 0) return undefined;
    const timer = setTimeout(() => setWait(wait - 1), 1000);
    return () => clearTimeout(timer);
  }, [wait]);
  const { owner } = session.value;
  useEffect(() => { if (owner) setProblem(null); }, [owner]);
  /** Whether the work was done. @param {() => Promise<unknown>} work */
  const asking = async (work) => {
    setProblem(null);
    try {
      await work();
      return true;
    } catch (error) {
      setWait(error instanceof Problem ? secondsToWait(error) : 0);
      setProblem(told(error, fields, setErrors));
      return false;
    }
  };
  return { problem, setProblem, wait, asking };
}

/** @param {unknown} error @param {Record<string, [string, string]>} fields @param {(errors: Record<string, string | null>) => void} setErrors */
function told(error, fields, setErrors) {
  if (error instanceof Problem && error.status === 403 && error.errors.some(({ field }) => field === "session")) {
    session.value = { ...session.value, owner: false }; // the page then offers the sign-in where it stands
    return "The owner's sign-in has run out. What you wrote is kept here.";
  }
  if (!(error instanceof Problem)) return error instanceof Error ? error.message : String(error);
  if (error.status === 429) return "Too many wrong tries. The next one counts when the wait is over.";
  if (error.offline || error.status >= 500 || !error.errors.length) return error.detail;
  const { errors, rest } = byField(error.errors, fields);
  setErrors(errors);
  return rest.join(" ") || null;
}
