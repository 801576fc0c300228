/** From facts and entries to what stands now: the page has no other state worth keeping. */
import { amountOf, chosenOf, coldOf, credited, creditOf, putLot, readyOf, rowNamed, waysOf } from "./lots.js";
import { countBack, dayOf, finish, isoOf, lookAfter, WAIT_DAYS } from "./rules.js";
/** @import { Batch, Entry, Facts, Lot, Sowing, Species } from "./types.d.ts" */

/** Kinds of entries that the journal's own tables hold once they were brought back. */
const IN_JOURNAL = new Set(["begin", "look", "reading", "next", "sow", "count"]);

/**
 * @typedef {object} State
 * @property {Entry[]} entries in the order they were made, without those taken back
 * @property {Set<string>} undone
 * @property {Map<string, Lot>} lots by identifier
 * @property {Map<string, Batch>} batches open ones, by reference
 * @property {Map<string, Map<number, number>>} places daily means
 * @property {Map<string, Sowing>} sowings
 * @property {Set<string>} done tasks, by species and key
 * @property {Map<string, number>} planting day by species
 * @property {Set<number>} weekdays
 * @property {Set<number>} away
 */

/** @param {Facts} facts @param {Entry[]} own @returns {State} */
export const standing = (facts, own) => {
  const brought = new Set(facts.entries.map((entry) => entry.id));
  const every = [...facts.entries, ...own.filter((entry) => !brought.has(entry.id))];
  every.sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.id < b.id ? -1 : 1));
  const undone = new Set(every.filter((entry) => entry.kind === "undo").map((entry) => entry.of));
  const entries = every.filter((entry) => entry.kind !== "undo" && !undone.has(entry.id));
  const undoneHere = new Set(every.filter((entry) => entry.kind === "undo" && !brought.has(entry.id)).map((entry) => entry.of));
  /** @type {State} */
  const state = {
    entries,
    undone,
    lots: new Map(facts.lots.map((lot, number) => [`plan ${number}`, lot])),
    batches: new Map(facts.batches.map((batch) => [batch.ref, { ...batch, phases: [...batch.phases] }])),
    places: new Map(Object.entries(facts.places).map(([place, means]) => [place, new Map(Object.entries(means).map(([iso, mean]) => [dayOf(iso), mean]))])),
    sowings: new Map(facts.sowings.map((sowing) => [sowing.ref, { ...sowing }])),
    done: new Set(facts.done),
    planting: new Map(),
    weekdays: new Set(facts.crew.weekdays),
    away: new Set(facts.crew.away.map(dayOf)),
  };
  const held = (/** @type {Entry} */ entry) => brought.has(entry.id) && (IN_JOURNAL.has(entry.kind) || (entry.kind === "lot" && facts.filed && entry.filed));
  for (const entry of entries) if (!held(entry)) apply(facts, state, entry);
  for (const entry of facts.entries) if (undoneHere.has(entry.id) && held(entry)) takeBack(facts, state, entry);
  return state;
};

/** What the laptop has already, taken back here since. @param {Facts} facts @param {State} state @param {Entry} entry */
const takeBack = (facts, state, entry) => {
  const ref = facts.refs[`@${entry.id}`];
  if (entry.kind === "lot") putLot(state, { ...entry, of: "", lot: entry.was, was: entry.lot });
  if (entry.kind === "begin") state.batches.delete(ref);
  if (entry.kind === "sow") state.sowings.delete(ref);
};

/** @param {Facts} facts @param {State} state @param {Entry} entry */
const apply = (facts, state, entry) => {
  /** @param {string} name */
  const ref = (name) => facts.refs[name] ?? name;
  const batch = state.batches.get(ref(entry.batch ?? ""));
  if (entry.kind === "lot") putLot(state, entry);
  if (entry.kind === "task") state.done.add(entry.task);
  if (entry.kind === "plant") {
    if (entry.plantOut) state.planting.set(entry.species, dayOf(entry.plantOut));
    else state.planting.delete(entry.species);
  }
  if (entry.kind === "crew") [state.weekdays, state.away] = [new Set(entry.weekdays), new Set(entry.away.map(dayOf))];
  if (entry.kind === "begin") state.batches.set(`@${entry.id}`, begun(facts, entry));
  if (entry.kind === "look" && batch) [batch.looked, batch.finding] = [entry.date, entry.finding];
  if (entry.kind === "next" && batch) [batch.phases, batch.started] = [batch.phases.slice(1), entry.date];
  if (entry.kind === "reading") read(state, entry);
  if (entry.kind === "sow") {
    state.sowings.set(`@${entry.id}`, {
      ref: `@${entry.id}`, species: entry.species, sown: entry.date, seeds: entry.seeds, bed: entry.bed,
      expected: entry.expected, up: null,
    });
    if (batch) {
      if (batch.seeds !== null) batch.seeds -= entry.seeds;
      if (batch.seeds !== null && batch.seeds <= 0) state.batches.delete(batch.ref);
    }
  }
  const sowing = state.sowings.get(ref(entry.sowing ?? ""));
  if (entry.kind === "count" && sowing) sowing.up = entry.up;
};

/** @param {Facts} facts @param {Entry} entry @returns {Batch} */
const begun = (facts, entry) => {
  const row = rowNamed(facts, entry.species, entry.label);
  return {
    ref: `@${entry.id}`, species: entry.species, name: entry.label, started: entry.date, place: entry.place,
    phases: row ? credited(row.phases, (entry.coldDone ?? 0) - row.coldDone) : [],
    set: entry.set, seeds: entry.seeds, plantOut: entry.plantOut, looked: null, finding: null, every: 7,
  };
};

/** @param {State} state @param {Entry} entry */
const read = (state, entry) => {
  const means = state.places.get(entry.place) ?? new Map();
  for (let day = dayOf(entry.from); day <= dayOf(entry.to); day++) means.set(day, entry.celsius);
  state.places.set(entry.place, means);
};

/** How far a batch is, and when it is looked at next. @param {State} state @param {Batch} batch @param {number} now */
export const progress = (state, batch, now) => {
  const [phase] = batch.phases;
  const far = phase ? finish(phase, dayOf(batch.started), now, state.places.get(batch.place) ?? new Map(), batch.set) : null;
  const since = dayOf(batch.looked ?? batch.started);
  const share = far && far.needed > 0 ? far.done / far.needed : 0;
  return { phase, far, nextLook: since + lookAfter(share, batch.finding, batch.every) };
};

/** @param {Facts} facts @param {State} state @param {Species} species */
export const plantingOf = (facts, state, species) =>
  state.planting.get(species.name) ?? (species.plantOut ? dayOf(species.plantOut) : null);

const SET = 4; // of a refrigerator; as `chillplan batch start` takes it
const SHELF = 20; // of a warm shelf indoors

/** Seed of a species goes into its treatment. @param {Facts} facts @param {State} state @param {Species} species @param {number} now @param {number | null} seeds */
export const beginning = (facts, state, species, now, seeds = amountOf(facts, state, species)) => {
  const warm = species.phases[0]?.kind === "warm";
  const plantOut = plantingOf(facts, state, species);
  return {
    kind: "begin", species: species.latin, recipe: species.recipe, coldDone: coldOf(facts, state, species), label: species.lotName, date: isoOf(now), seeds,
    place: warm ? "shelf" : "fridge", set: warm ? SHELF : SET, plantOut: plantOut === null || plantOut < now ? null : isoOf(plantOut),
  };
};

/** Every task that is wanted, with its dates as they stand now. @param {Facts} facts @param {State} state */
export const tasksNow = (facts, state) => {
  const made = dayOf(facts.made);
  const found = [];
  for (const task of facts.tasks) {
    const species = facts.species[task.species];
    const way = task.key.split("/")[0];
    const code = `${species.name}/${task.key}`;
    const ways = waysOf(facts, state, species);
    if (state.done.has(code) || species.killed) continue;
    if (way !== "seed" && !ways.has(way)) continue;
    let [from, to] = [dayOf(task.from), dayOf(task.to)];
    const own = plantingOf(facts, state, species);
    const credit = creditOf(facts, state, species);
    const moved = way === "fridge" && own !== null && (state.planting.has(species.name) || credit !== 0);
    if (moved) [from, to] = movedTask(species, task.key, own, credit, to - from);
    else if (to < made) continue;
    const picked = readyOf(facts, state, species);
    if (picked !== null && from < picked && way !== "fridge") [from, to] = [picked, Math.max(to, picked)];
    found.push({ code, key: task.key, species, text: task.text, place: task.place, minutes: task.minutes, way, either: ways.size > 1 && way !== "seed" && species.verdict === "either" && chosenOf(facts, state, species).size === 0, kind: task.key.split("/")[1], from: Math.max(from, made), to: Math.max(to, made), moved });
  }
  return found.sort((a, b) => a.from - b.from || a.to - b.to); // of equal dates in the plan's order
};

/** Tasks that are done once the seed of a species lies in the box: keeping, preparing, and the first phase itself. @param {Facts} facts @param {State} state @param {Species} species */
export const stepsInto = (facts, state, species) => {
  const first = `fridge/${species.phases[0]?.kind} phase/1`;
  return tasksNow(facts, state).filter((task) => task.species === species && (task.key === first || task.key.startsWith("fridge/coat/") || task.key.startsWith("seed/")));
};

/** @param {Species} species @param {string} key @param {number} plantOut @param {number} credit @param {number} length @returns {[number, number]} */
const movedTask = (species, key, plantOut, credit, length) => {
  const [, kind, number] = key.split("/");
  if (kind === "plant out") return [plantOut, plantOut + WAIT_DAYS];
  const back = countBack(species, plantOut, credit);
  if (kind === "coat") return [back.prepare, back.first];
  const phases = species.phases.filter((phase) => phase.days[1] > 0);
  const own = phases.filter((phase) => `${phase.kind} phase` === kind)[Number(number) - 1];
  const after = { ...species, phases: own ? species.phases.slice(species.phases.indexOf(own)) : [] };
  const begin = countBack(after, plantOut, Math.max(0, credit - coldBefore(species, own))).first;
  return [begin, begin + (kind.endsWith("phase") ? 0 : length)];
};

/** @param {Species} species @param {import("./types.d.ts").Phase | undefined} own */
const coldBefore = (species, own) =>
  species.phases.slice(0, own ? species.phases.indexOf(own) : 0).reduce((sum, phase) => sum + (phase.kind === "cold" ? phase.days[1] : 0), 0);

/** A file that `chillplan batch import` takes. @param {{site: string, season: number}} facts @param {Entry[]} own */
export const fileOf = (facts, own) => JSON.stringify({ kind: "chillplan page", format: 1, site: facts.site, season: facts.season, entries: own });
