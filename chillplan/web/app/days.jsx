/** The grower's days, and the visits that they leave. */
import { useState } from "preact/hooks";
import { tasksNow } from "./log.js";
import { dayOf, fewestDays, isoOf, weekdayOf } from "./rules.js";
import { Field, useHand } from "./parts.jsx";
import { day, t, weekdayNames } from "./words.js";
/** @import { Facts } from "./types.d.ts" */
/** @import { State } from "./log.js" */

const LONGEST_WAIT = 200; // days in which late work finds a day that works

/** The fewest days on the hill that meet every outdoor task, on days that work from now on. @param {Facts} facts @param {State} state @param {number} now */
export const visitsNow = (facts, state, now = dayOf(facts.made)) => {
  const first = dayOf(facts.hill.first);
  const closed = new Set(facts.hill.closed.map((number) => first + number));
  const hill = tasksNow(facts, state).filter((task) => task.place === "hill");
  const tasks = hill.filter((task) => !task.either || task.way === sooner(hill.filter((other) => other.species === task.species)));
  const open = (/** @type {number} */ at) => state.weekdays.has(weekdayOf(at)) && !state.away.has(at) && !closed.has(at);
  let next = now;
  while (!open(next) && next < now + LONGEST_WAIT) next++;
  const windows = tasks.map((task) => ({ from: Math.max(task.from, now), to: Math.max(task.to, next) })); // late work is done on the next day that works
  const { days, dayOf: met } = fewestDays(windows, open, new Set(facts.visits.map(dayOf)));
  const visits = days.sort((a, b) => a - b).map((at) => ({
    day: at, tasks: tasks.filter((_, n) => met[n] === at), light: facts.hill.light[Math.min(Math.max(at - first, 0), facts.hill.light.length - 1)] ?? ["", ""],
  }));
  return { visits, unmet: tasks.filter((_, n) => met[n] === null) };
};

/** Of two ways the one whose work on the hill is done sooner. @param {{way: string, to: number}[]} tasks */
const sooner = (tasks) => {
  const last = new Map();
  for (const { way, to } of tasks) last.set(way, Math.max(last.get(way) ?? to, to));
  return [...last].sort(([way, to], [other, end]) => to - end || (way < other ? -1 : 1))[0][0];
};

export const Days = () => {
  const { facts, state, now, add, nameOf } = useHand();
  const [date, setDate] = useState(isoOf(now));
  const { visits, unmet } = visitsNow(facts, state, now);
  const crew = (/** @type {Set<number>} */ weekdays, /** @type {Set<number>} */ away) =>
    add({ kind: "crew", weekdays: [...weekdays].sort(), away: [...away].sort().map(isoOf) });
  const turn = (/** @type {Set<number>} */ days, /** @type {number} */ one) => {
    const turned = new Set(days);
    if (!turned.delete(one)) turned.add(one);
    return turned;
  };
  return (
    <section class="card" id="days">
      <h3>{t("visits")}</h3>
      <fieldset class="choice"><legend>{t("weekdays")}</legend>
        {weekdayNames().map((name, n) => <button type="button" key={name} aria-pressed={state.weekdays.has(n)} onClick={() => crew(turn(state.weekdays, n), state.away)}>{name}</button>)}
      </fieldset>
      <div class="fields">
        <Field label={t("away")} type="date" value={date} put={setDate} />
        <button type="button" disabled={!date} onClick={() => crew(state.weekdays, turn(state.away, dayOf(date)))}>{date && state.away.has(dayOf(date)) ? t("open") : t("cross")}</button>
      </div>
      {state.away.size ? <p>{[...state.away].sort().map((at) => day(at)).join(", ")}</p> : null}
      <ol class="visits">
        {visits.map((visit) => (
          <li key={visit.day}><b>{day(visit.day)}</b> <small>{t("light", { from: visit.light[0], to: visit.light[1] })} · {t("minutes", { n: visit.tasks.reduce((sum, task) => sum + task.minutes, 0) })}</small>
            <ul>{visit.tasks.map((task) => <li key={task.code}>{nameOf(task.species.name)}: {task.text}</li>)}</ul>
          </li>
        ))}
      </ol>
      {unmet.length ? <p class="late">{t("unmet", { tasks: unmet.map((task) => nameOf(task.species.name)).join(", ") })}</p> : null}
    </section>
  );
};
