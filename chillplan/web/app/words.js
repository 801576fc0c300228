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

/** @type {Record<string, string>} */
const ONE = { batche: "batch", entrie: "entry" };

/** @param {Key} key @param {Record<string, string | number>} values */
export const t = (key, values = {}) => {
  const plain = (american && /** @type {Record<string, string>} */ (table["en-US"])[key]) || table["en-GB"][key] || key;
  return plain.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? "")).replace(/(^|[^\d.])1 (day|seed|winter|batche|entrie)s\b/g, (_, before, noun) => `${before}1 ${ONE[noun] ?? noun}`);
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
export const month = (when) => MONTHS[Number(isoOf(when).slice(5, 7)) - 1];

/** @param {number} share */
export const percent = (share) => `${Math.round(share * 100)}\u00a0%`.replace("\u00a0", american ? "" : "\u00a0");
const ON = /** @type {const} */ (["onMon", "onTue", "onWed", "onThu", "onFri", "onSat", "onSun"]);
/** Days of the week as they come again, Monday is 0. @param {number} weekday */
export const everyWeek = (weekday) => t(ON[weekday]);
export const inFahrenheit = () => us;
/** @param {number} celsius */
export const degrees = (celsius) => (us ? `${Math.round(celsius * 1.8 + 32)}\u00a0°F` : `${Math.round(celsius * 10) / 10}\u00a0°C`);
const GRAMS_PER_OUNCE = 28.349523125;
/** An amount of seed as the reader weighs it. @param {string} amount */
export const weight = (amount) => {
  const grams = Number(/^([\d.e+]+) g$/.exec(amount)?.[1] ?? 0);
  if (!grams) return amount;
  return us ? `${Math.round((grams / GRAMS_PER_OUNCE) * 100) / 100} oz` : `${Math.round(grams * 10) / 10} g`;
};
export const weekdayNames = () => WEEKDAYS.map((name) => t(name));
