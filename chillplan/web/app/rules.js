/** The few rules that the page works out itself; a test holds each equal to the Python one. */

/** @import { Facts, Phase, Species } from "./types.d.ts" */

const MS = 86400000;
const LONGEST_BRIDGE = 7; // days without a reading that a straight line may bridge
const ROUNDING = 1e-9;
const LEAST_PACE = 0.01; // a setting that gives less in a day is not foreseen to end
const CLOSE_LOOK_SHARE = 2 / 3;
const CLOSE_LOOK_DAYS = 3;
const TROUBLE_DAYS = 2;
export const WAIT_DAYS = 7; // treated seed waits so long for a day that suits

/** @param {string} iso */
export const dayOf = (iso) => Math.round(Date.parse(`${iso}T00:00:00Z`) / MS);
/** @param {number} day */
export const isoOf = (day) => new Date(day * MS).toISOString().slice(0, 10);
/** Monday is 0. @param {number} day */
export const weekdayOf = (day) => (day + 3) % 7;

/** The device's own date. */
export const today = () => {
  const now = new Date();
  return Math.round(Date.UTC(now.getFullYear(), now.getMonth(), now.getDate()) / MS);
};

/** Share of a day that counts. @param {number} temperature @param {number[]} response */
export const responseShare = (temperature, [zeroLow, fullLow, fullHigh, zeroHigh]) => {
  if (fullLow <= temperature && temperature <= fullHigh) return 1;
  if (zeroLow < temperature && temperature < fullLow) return (temperature - zeroLow) / (fullLow - zeroLow);
  if (fullHigh < temperature && temperature < zeroHigh) return (zeroHigh - temperature) / (zeroHigh - fullHigh);
  return 0;
};

/** Daily means with the short stretches between them bridged. @param {Map<number, number>} means */
export const bridged = (means) => {
  const days = [...means.keys()].sort((a, b) => a - b);
  const filled = new Map(means);
  for (let n = 1; n < days.length; n++) {
    const [left, right] = [days[n - 1], days[n]];
    if (right - left > LONGEST_BRIDGE) continue;
    const [from, to] = [Number(means.get(left)), Number(means.get(right))];
    for (let day = left + 1; day < right; day++) filled.set(day, from + ((to - from) / (right - left)) * (day - left));
  }
  return filled;
};

/**
 * Days done of a phase, and when it is complete: the days that are over as measured, those to come as the place is set.
 * @param {Phase} phase @param {number} started @param {number} now @param {Map<number, number>} means
 * @param {number} set @param {number} credit days done before
 */
export const finish = (phase, started, now, means, set, credit = 0) => {
  const reversal = phase.reversal ?? Infinity;
  const [, high] = phase.days;
  const owed = high - credit;
  const gain = (/** @type {number} */ value) => (value > reversal ? -phase.reversal_loss : responseShare(value, phase.response));
  const known = bridged(means);
  let done = 0;
  /** @type {number | null} */
  let reached = owed <= ROUNDING ? started : null;
  for (let day = started; day < now; day++) {
    const share = gain(known.get(day) ?? set);
    if (!(share < 0 && done >= owed)) done = Math.max(0, done + share);
    if (reached === null && done >= owed - ROUNDING) reached = day + 1;
  }
  const usual = gain(set);
  if (reached === null && usual >= LEAST_PACE) reached = Math.max(now, started) + Math.ceil((owed - done) / usual - ROUNDING);
  const planned = started + Math.ceil(owed);
  return { done: done + credit, needed: high, finish: reached, lost: reached === null ? null : reached - planned };
};

/**
 * Every step of a treatment counted back from the planting date; cold already had is taken off the cold phases.
 * @param {Species} species @param {number} plantOut @param {number} credit days of cold had before
 */
export const countBack = (species, plantOut, credit = 0) => {
  let day = plantOut;
  /** @type {number | null} */
  let intoCold = null;
  const left = species.phases.map((phase) => phase.days[1]);
  species.phases.forEach((phase, n) => {
    if (phase.kind !== "cold") return;
    const taken = Math.min(credit, left[n]);
    left[n] -= taken;
    credit -= taken;
  });
  for (let n = left.length - 1; n >= 0; n--) {
    const begin = day - Math.ceil(left[n]);
    if (begin === day) continue;
    if (species.phases[n].kind === "cold") intoCold = begin;
    day = begin;
  }
  return { prepare: day - species.coatDays, first: day, intoCold };
};

/** Shares up by winter on a day of the season. @param {Facts} facts @param {Uint8Array} table @param {number} index */
export const sharesOn = (facts, table, index) => {
  const count = facts.winters.length;
  const last = table.length / count - 1;
  const at = Math.min(Math.max(Math.floor(index / facts.step), 0), last);
  return table.subarray(at * count, (at + 1) * count);
};

/** @param {string} text */
export const tableOf = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));

/** Winters in which enough is up. @param {Facts} facts @param {Uint8Array} shares */
export const goodOf = (facts, shares) => shares.filter((share) => share >= facts.target * facts.shares).length;

/** Share of winters in which frost that kills seedlings still follows a day. @param {Facts} facts @param {string} limit @param {number} index */
export const frostRisk = (facts, limit, index) =>
  facts.frost[limit].filter((last) => last > index).length / facts.frost[limit].length;

/** Percentile of a sample: Weibull positions, straight between ranks. @param {ArrayLike<number>} values @param {number} share */
export const percentile = (values, share) => {
  const sorted = Array.from(values).sort((a, b) => a - b);
  const rank = Math.min(Math.max(share * (sorted.length + 1) - 1, 0), sorted.length - 1);
  const [below, above] = [Math.floor(rank), Math.ceil(rank)];
  return sorted[below] + (rank - below) * (sorted[above] - sorted[below]);
};

/** Days until the next look. @param {number} shareDone @param {string | null} finding @param {number} usual */
export const lookAfter = (shareDone, finding, usual) => {
  let days = usual;
  if (shareDone >= CLOSE_LOOK_SHARE || finding === "sprouted") days = Math.min(days, CLOSE_LOOK_DAYS);
  if (finding === "dry" || finding === "mould") days = Math.min(days, TROUBLE_DAYS);
  return days;
};

/**
 * The fewest days that meet every window; windows without a day are left. Work that shares a day is done on one that
 * the plan had chosen, else on the first that suits all of it.
 * @param {{from: number, to: number}[]} windows @param {(day: number) => boolean} open @param {Set<number>} liked days of the plan
 * @returns {{days: number[], dayOf: (number | null)[]}}
 */
export const fewestDays = (windows, open, liked = new Set()) => {
  const latest = windows.map(({ from, to }) => {
    for (let day = to; day >= from; day--) if (open(day)) return day;
    return null;
  });
  /** @type {number[]} */
  const days = [];
  const order = windows.map((_, n) => n).filter((n) => latest[n] !== null);
  order.sort((a, b) => Number(latest[a]) - Number(latest[b]));
  for (const n of order) if (!days.some((day) => windows[n].from <= day && day <= windows[n].to)) days.push(Number(latest[n]));
  const met = windows.map(({ from, to }) => days.find((day) => from <= day && day <= to) ?? null);
  const moved = new Map(days.map((last) => [last, suiting(windows.filter((_, n) => met[n] === last), last, open, liked)]));
  return { days: days.map((day) => Number(moved.get(day))), dayOf: met.map((day) => (day === null ? null : Number(moved.get(day)))) };
};

/** @param {{from: number, to: number}[]} windows @param {number} last @param {(day: number) => boolean} open @param {Set<number>} liked */
const suiting = (windows, last, open, liked) => {
  const first = Math.max(...windows.map(({ from }) => from));
  const days = Array.from({ length: last - first + 1 }, (_, n) => first + n).filter(open);
  return days.find((day) => liked.has(day)) ?? days[0];
};
