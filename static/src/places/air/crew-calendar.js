// The shop's calendar as the pure parts of people's standings want it.
import { calendar } from "../world.js";
import { dayAt } from "./shared.js";

export const crewCalendar = () => ({ today: calendar.value.today, dayOf: dayAt });
