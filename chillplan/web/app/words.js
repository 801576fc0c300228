/** All words of the page, British; American where they differ. */
import table from "./words.json";
import { dayOf, isoOf, today } from "./rules.js";

/** @typedef {keyof typeof table["en-GB"]} Key */
/** @import { Facts } from "./types.d.ts" */

let american = false;
let order = "dmy";
let us = false;
const NEAR = 270; // days from today within which a date needs no year
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const WEEKDAYS = /** @type {const} */ (["mon", "tue", "wed", "thu", "fri", "sat", "sun"]);

/** Take the reader's units, order of dates and spelling. @param {Facts} facts */
export const speak = (facts) => {
  us = facts.units === "us";
  american = us;
  order = facts.dates;
};

/** @param {Key} key @param {Record<string, string | number>} values */
export const t = (key, values = {}) => {
  const plain = (american && /** @type {Record<string, string>} */ (table["en-US"])[key]) || table["en-GB"][key] || key;
  return plain.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? ""));
};

/** Words of a value that comes from the plan. @param {string} value */
export const said = (value) => (value in table["en-GB"] ? t(/** @type {Key} */ (value)) : value);

/** A date with its weekday, and with its year where another could be meant. @param {number | string} when */
export const day = (when) => {
  const iso = typeof when === "string" ? when : isoOf(when);
  const [year, month, date] = iso.split("-").map(Number);
  const name = t(WEEKDAYS[(dayOf(iso) + 3) % 7]);
  const far = Math.abs(dayOf(iso) - today()) > NEAR;
  if (order === "iso") return `${name} ${far ? iso : iso.slice(5)}`;
  return order === "mdy" ? `${name} ${MONTHS[month - 1]} ${date}${far ? `, ${year}` : ""}` : `${name} ${date} ${MONTHS[month - 1]}${far ? ` ${year}` : ""}`;
};

/** The month in which a day lies. @param {number} when */
export const month = (when) => MONTHS[new Date(when * 86400000).getUTCMonth()];

/** @param {number} share */
export const percent = (share) => `${Math.round(share * 100)}\u00a0%`.replace("\u00a0", american ? "" : "\u00a0");
export const inFahrenheit = () => us;
/** @param {number} celsius */
export const degrees = (celsius) => (us ? `${Math.round(celsius * 1.8 + 32)}\u00a0°F` : `${Math.round(celsius * 10) / 10}\u00a0°C`);
export const weekdayNames = () => WEEKDAYS.map((name) => t(name));
