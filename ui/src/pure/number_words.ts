/** Numbers as people read them: a true minus, no needless decimals, clock times in the room's own zone. */

const MINUS = "\u2212";

/** A whole number with a true minus. */
export function whole(value: number): string {
  const rounded = Math.round(value);
  return rounded < 0 ? `${MINUS}${-rounded}` : `${Math.abs(rounded)}`;
}

/** A number with up to so many decimals and a true minus. */
export function decimal(value: number, digits: number): string {
  const text = Math.abs(value).toFixed(digits);
  return value < 0 && Number(text) !== 0 ? `${MINUS}${text}` : text;
}

/** An age: `4 s`, `12 min`, `1 h 05`. */
export function ageWords(seconds: number): string {
  const age = Math.max(seconds, 0);
  if (age < 60) return `${Math.floor(age)} s`;
  if (age < 3600) return `${Math.floor(age / 60)} min`;
  return hoursWords(Math.floor(age / 60));
}

/** A time left: `45 min`, `3 h 05`. */
export function minutesWords(minutes: number): string {
  return minutes < 60 ? `${Math.floor(Math.max(minutes, 0))} min` : hoursWords(Math.floor(minutes));
}

function hoursWords(minutes: number): string {
  return `${Math.floor(minutes / 60)} h ${two(minutes % 60)}`;
}

function two(value: number): string {
  return value.toString().padStart(2, "0");
}

/** A clock time `20:14:36` of microseconds since 1970, in the zone of the machine that shows it. */
export function clockWords(utcMicroseconds: number): string {
  const moment = new Date(utcMicroseconds / 1000);
  return `${two(moment.getHours())}:${two(moment.getMinutes())}:${two(moment.getSeconds())}`;
}

/** A frequency in megahertz: `518.025`, with every digit that a step of 1 Hz could set. */
export function megahertz(hertz: number): string {
  const text = (hertz / 1e6).toFixed(6);
  return text.replace(/0{1,3}$/, "");
}
