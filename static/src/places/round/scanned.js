// Where a machine's label leads: into its start-up round while that waits, else to the machine.
import { html } from "htm/preact";
import { useEffect } from "preact/hooks";
import { Page, go } from "../../kit/index.js";
import { standingOf } from "../standing.js";
import { world } from "../world.js";

/** @param {{ machine: import("../../store/types.js").Definition }} props */
export function Scanned({ machine }) {
  const { startUp, mark } = standingOf(world.value, machine);
  const waits = startUp && startUp.due.state !== "resting" && mark !== "tagged" && !machine.retired;
  const to = waits ? `round/${machine.id}/${startUp.checklist.id}` : `machine/${machine.id}`;
  useEffect(() => go(to, { replace: true }), [to]);
  return html`<${Page} title=${machine.name} />`;
}
