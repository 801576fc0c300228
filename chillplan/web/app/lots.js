/** Lots: which row of the plan is for which, and what they say of the seed of that row. */
import { dayOf } from "./rules.js";
/** @import { Entry, Facts, Lot, Phase, Species } from "./types.d.ts" */
/** @import { State } from "./log.js" */

/** Enter, change or remove a lot: the one that the entry was made for, else one that reads as it read then. @param {State} state @param {Entry} entry */
export const putLot = (state, entry) => {
  const { lots } = state;
  const same = (/** @type {Lot | undefined} */ lot) => lot && [...new Set([...Object.keys(lot), ...Object.keys(entry.was)])].every((key) => (lot[key] ?? "") === (entry.was[key] ?? ""));
  const meant = entry.was && (same(lots.get(entry.of)) ? entry.of : [...lots.keys()].find((id) => same(lots.get(id))));
  if (entry.lot) lots.set(meant ?? entry.id, entry.lot);
  else if (meant) lots.delete(meant);
};

/** The row of the plan that a lot belongs to; a lot added since goes with the first of its species. @param {Facts} facts @param {string | undefined} id @param {string} species @returns {Species | undefined} */
export const rowOf = (facts, id, species) => {
  const rows = facts.species.filter((one) => one.latin === species);
  return rows.find((one) => one.lot !== null && `plan ${one.lot}` === id) ?? rows[0];
};

/** The row of the plan that a batch, or what was begun, belongs to. @param {Facts} facts @param {string} species @param {string} label */
export const rowNamed = (facts, species, label) => {
  const rows = facts.species.filter((one) => one.latin === species);
  return rows.find((one) => one.lotName && one.lotName === label) ?? rows[0];
};

/** @param {Facts} facts @param {State} state @param {Species} row */
export const lotsOf = (facts, state, row) => [...state.lots].filter(([id, lot]) => rowOf(facts, id, lot.species) === row).map(([, lot]) => lot);

/** Days in the cold that the seed of a row has had, by its lots. @param {Facts} facts @param {State} state @param {Species} row */
export const coldOf = (facts, state, row) => {
  const days = lotsOf(facts, state, row).map((lot) => Number(/already stratified ([\d.]+)/.exec(lot.state)?.[1] ?? 0));
  return days.length ? Math.min(...days) : row.coldDone;
};

/** The same beyond what the plan counted. @param {Facts} facts @param {State} state @param {Species} row */
export const creditOf = (facts, state, row) => coldOf(facts, state, row) - row.coldDone;

/** A treatment less days of cold that are done; warmth before that cold is taken as done. @param {Phase[]} phases @param {number} cold @returns {Phase[]} */
export const credited = (phases, cold) => {
  const first = phases.findIndex((phase) => phase.kind === "cold");
  if (cold <= 0 || first < 0) return phases;
  const [low, high] = phases[first].days;
  return [{ ...phases[first], days: [Math.max(low - cold, 0), Math.max(high - cold, 0)] }, ...phases.slice(first + 1)];
};

/** Seeds of a row, by its lots. @param {Facts} facts @param {State} state @param {Species} row */
export const amountOf = (facts, state, row) => {
  const counts = lotsOf(facts, state, row).map((lot) => Number(/^(\d+) seeds/.exec(lot.amount)?.[1] ?? 0));
  return counts.reduce((sum, count) => sum + count, 0) || null;
};

/** Ways whose work is shown for a row: those chosen for its lots, else the plan's. @param {Facts} facts @param {State} state @param {Species} row */
export const waysOf = (facts, state, row) => {
  const possible = [...chosenOf(facts, state, row)].filter((way) => (way === "fridge" ? row.plantOut : row.sow));
  return possible.length ? new Set(possible) : new Set(row.ways);
};

/** Ways chosen for the lots of a row. @param {Facts} facts @param {State} state @param {Species} row */
export const chosenOf = (facts, state, row) => {
  const chosen = new Set();
  for (const { way } of lotsOf(facts, state, row)) {
    if (way === "outdoors" || way === "both in parts") chosen.add("outdoors");
    if (way === "cold store" || way === "both in parts") chosen.add("fridge");
  }
  return chosen;
};

/** The day from which all the seed of a row is there; null where nothing is said. @param {Facts} facts @param {State} state @param {Species} row */
export const readyOf = (facts, state, row) => {
  const picked = lotsOf(facts, state, row).filter((lot) => lot.picked).map((lot) => dayOf(lot.picked));
  return picked.length ? Math.max(...picked) : null;
};
