/** What is due now, the next visit, this week's looks. */
import { beginning, progress, stepsInto, tasksNow } from "./log.js";
import { rowNamed } from "./lots.js";
import { isoOf } from "./rules.js";
import { Cautions, CautionsForAll, Name, useHand } from "./parts.jsx";
import { visitsNow } from "./days.jsx";
import { day, t } from "./words.js";

const SOON = 14;
const SHOWN = 6;
const WEEK = 6; // days after today
const NAMED = 4; // species by name; the rest are in the box

/** @param {{tasks: ReturnType<typeof tasksNow>}} props */
const Tasks = ({ tasks }) => {
  const { facts, state, add, now, nameOf, go } = useHand();
  const lying = (/** @type {ReturnType<typeof tasksNow>[0]} */ task) => [...state.batches.values()].find((batch) => rowNamed(facts, batch.species, batch.name) === task.species);
  const liesOf = (/** @type {ReturnType<typeof tasksNow>[0]} */ task) => task.way === "fridge" && lying(task) && stepsInto(facts, state, task.species).some((one) => one.code === task.code);
  const done = async (/** @type {ReturnType<typeof tasksNow>[0]} */ task) => {
    const kept = { kind: "task", task: task.code, date: isoOf(now) };
    const lies = lying(task);
    const phase = task.kind === "cold phase" || task.kind === "warm phase";
    if (phase && task.way === "fridge" && !lies) {
      const before = stepsInto(facts, state, task.species).filter((one) => one.code !== task.code).map((one) => ({ ...kept, task: one.code }));
      await add(kept, beginning(facts, state, task.species, now), ...before);
    }
    else if (phase && lies?.phases[1] && `${lies.phases[1].kind} phase` === task.kind) await add(kept, { kind: "next", batch: lies.ref, date: isoOf(now) });
    else if ((await add(kept)) && (task.kind === "sow" || task.kind === "plant out")) go("beds");
  };
  return (
    <ul class="rows">
      {tasks.map((task) => (
        <li key={task.code}>
          <div>
            <Name>{nameOf(task.species.name)}</Name>: <span>{task.text}</span>
            <small>{liesOf(task) ? `${t("liesAlready")} · ` : ""}{task.either ? `${t("oneOfTwo")} · ` : ""}{t(/** @type {any} */ (task.place))}{task.from > now ? ` · ${day(task.from)}` : ""}{task.to < now ? <> · <b class="late">{t("late", { day: day(task.to) })}</b></> : task.to > Math.max(task.from, now) ? ` · ${t("until", { day: day(task.to) })}` : ""}</small>
          </div>
          <Cautions of={task.species.name} />
          {task.from <= now ? <button type="button" aria-label={`${t("done")}: ${nameOf(task.species.name)}, ${task.text}`} onClick={() => done(task)}>{t("done")}</button> : null}
        </li>
      ))}
    </ul>
  );
};

export const Today = () => {
  const { facts, state, now, go, nameOf } = useHand();
  const tasks = tasksNow(facts, state);
  const due = tasks.filter((task) => task.from <= now).sort((a, b) => a.to - b.to);
  const soon = tasks.filter((task) => task.from > now && task.from <= now + SOON);
  const looks = new Map();
  let late = 0;
  for (const batch of state.batches.values()) {
    const { nextLook } = progress(state, batch, now);
    if (nextLook <= now + WEEK) looks.set(batch.species, (looks.get(batch.species) ?? 0) + 1);
    if (nextLook < now) late++;
  }
  const names = [...looks].map(([name, count]) => (count > 1 ? `${count} × ${nameOf(name)}` : nameOf(name)));
  const [visit] = visitsNow(facts, state, now).visits;
  return (
    <>
      {state.batches.size ? (
        <section class="looks">
          <h2>{t("looks")}</h2>
          <button type="button" class="main" onClick={() => go("box")}>{t("lookNow")}</button>
          <p>{names.slice(0, NAMED).join(", ")}{names.length > NAMED ? ` ${t("andMore", { n: names.length - NAMED })}` : ""}{names.length ? "" : t("noLooks")}{late ? <> · <b class="late">{t("lateLooks", { n: late })}</b></> : null}</p>
        </section>
      ) : null}
      <section class="visit">
        <h2>{t("nextVisit")}</h2>
        {visit ? <p><b>{day(visit.day)}</b>, {t("light", { from: visit.light[0], to: visit.light[1] })}: {[...new Set(visit.tasks.map((task) => nameOf(task.species.name)))].join(", ")}</p> : <p>{t("noVisit")}</p>}
      </section>
      <h2>{t("due")}</h2>
      {due.length ? <Tasks tasks={due.slice(0, SHOWN)} /> : <p class="calm">{t("nothing")}</p>}
      {due.length > SHOWN ? <details><summary>{t("andMore", { n: due.length - SHOWN })}</summary><Tasks tasks={due.slice(SHOWN)} /></details> : null}
      {soon.length ? <details open={due.length < 3}><summary>{t("soon")} ({soon.length})</summary><Tasks tasks={soon} /></details> : null}
      <CautionsForAll of={[...due, ...soon].map((task) => task.species.name)} />
    </>
  );
};
