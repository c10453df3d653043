// A screen that shows a purge timer: counts on while it is shown, rings at the end, puts it in the record.
import { useEffect, useRef, useState } from "preact/hooks";
import { person } from "../../store/index.js";
import { OVER, PURGING } from "../../core/purge.js";
import { keepPurge, purges, recall, tick } from "./purge-keep.js";

/** @type {AudioContext | null} */
let speaker = null;

/** A phone lets a page sound only after a press: called when the timer is started. */
export function allowSound() {
  try {
    speaker ??= new AudioContext();
    void speaker.resume();
  } catch {
    // No sound here; the screen and the vibration say it.
  }
}

/** Three tones and a long shake, where the phone allows them. */
function ring() {
  try {
    navigator.vibrate?.([400, 200, 400, 200, 400]);
  } catch {
    // Not allowed before the first press in this page.
  }
  if (!speaker) return;
  for (const at of [0, 0.5, 1]) {
    const [tone, loud] = [speaker.createOscillator(), speaker.createGain()];
    tone.frequency.value = 880;
    loud.gain.value = 0.3;
    tone.connect(loud).connect(speaker.destination);
    tone.start(speaker.currentTime + at);
    tone.stop(speaker.currentTime + at + 0.3);
  }
}

/** Keep the screen on while it counts, where the phone allows it. @param {boolean} counting */
function useScreenOn(counting) {
  useEffect(() => {
    if (!counting) return undefined;
    /** @type {WakeLockSentinel | null} */
    let held = null;
    let gone = false;
    const ask = () => navigator.wakeLock?.request("screen").then((one) => { if (gone) void one.release(); else held = one; }, () => {});
    const again = () => { if (document.visibilityState === "visible") void ask(); };
    void ask();
    document.addEventListener("visibilitychange", again);
    return () => {
      gone = true;
      document.removeEventListener("visibilitychange", again);
      void held?.release();
    };
  }, [counting]);
}

/**
 * @param {string} machine an id; empty: no timer
 * @returns {{ kept: import("./purge-copies.js").Kept | null, ready: boolean, problem: string | null, again: () => Promise<void> }}
 *   `ready`: both places were read, so that "none" means none
 */
export function usePurge(machine) {
  const [ready, setReady] = useState(false);
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const kept = purges.value[machine] ?? null;
  const phase = kept?.purge?.phase;
  const rang = useRef(phase);
  useEffect(() => {
    if (!machine) return undefined;
    recall(machine).finally(() => setReady(true));
    const counting = setInterval(() => tick(machine), 500);
    const look = () => tick(machine);
    document.addEventListener("visibilitychange", look);
    return () => {
      clearInterval(counting);
      document.removeEventListener("visibilitychange", look);
    };
  }, [machine]);
  useScreenOn(phase === PURGING);
  useEffect(() => {
    if (rang.current === PURGING && phase === OVER) ring();
    rang.current = phase;
  }, [phase]);
  const again = async () => {
    setProblem(null);
    await keepPurge(machine).catch((error) => setProblem(`The purge is not in the record: ${error instanceof Error ? error.message : error}`));
  };
  useEffect(() => {
    if (ready && phase === OVER && kept && !kept.kept) void again();
  }, [ready, phase, kept?.kept, person.value]);
  return { kept, ready, problem, again };
}
