// The kit: everything the places are built from.
export { BandStrip, limitsSaid } from "./band.js";
export { Caution, DEFERENCE } from "./caution.js";
export { allCautions, Cautions } from "./cautions.js";
export { capital, dayIn, daysFrom, longDay, sayDay, sayLong, sayWhen, timeIn } from "./dates.js";
export { Dial } from "./dial.js";
export {
  Button, ButtonLink, ChoiceField, DateField, Form, NumberField, PhotoField, SelectField, TextField, TickField, useForm,
} from "./forms.js";
export { go, goBack, where } from "./go.js";
export { Icon, iconOf } from "./icons.js";
export { counted, figure, readNumber, shortFigure } from "./numbers.js";
export { Empty, Facts, Notice, Page, Section } from "./page.js";
export { rankOf, StateMark } from "./state.js";
export { Tag, TagLine } from "./tag.js";
export { setTheme, theme } from "./theme.js";
