/** One page for the shed: looking days to tick, work by visit, the year at a glance. */
import { useState } from "preact/hooks";
import { tasksNow } from "./log.js";
import { dayOf, isoOf, weekdayOf } from "./rules.js";
import { visitsNow } from "./days.jsx";
import { cautionsOf, Choice, useHand } from "./parts.jsx";
import { day, everyWeek, month, t } from "./words.js";

const PAPERS = { A4: { size: "A4", wide: 186, high: 270 }, Letter: { size: "letter", wide: 192, high: 252 } };
const PIXELS = 96 / 25.4; // CSS pixels of a millimetre
const [MANY_ROWS, MANY_MONTHS, MANY_TASKS] = [16, 18, 40]; // above which the sheet is set closer
const SPARE = 6; // millimetres for what paper rounds otherwise than a screen
const STEPS = 8;
const LEAST = 0.4; // smaller print is not read on a wall

/** @param {"A4" | "Letter"} paper */
const printWall = (paper) => {
  const { size, wide, high } = PAPERS[paper];
  const sheet = /** @type {HTMLElement} */ (document.querySelector(".wall"));
  const style = document.createElement("style");
  document.body.dataset.print = "wall";
  Object.assign(sheet.style, { display: "block", zoom: "1" });
  const fits = (/** @type {number} */ share) => {
    sheet.style.width = `${wide / share}mm`;
    return sheet.scrollHeight * share <= (high - SPARE) * PIXELS;
  };
  let [least, most] = [LEAST, 1];
  for (let n = 0; n < STEPS && !fits(1); n++) [least, most] = fits((least + most) / 2) ? [(least + most) / 2, most] : [least, (least + most) / 2];
  const shrunk = fits(1) ? 1 : least;
  style.textContent = `@page { size: ${size}; margin: 12mm } @media print { .wall { width: ${wide / shrunk}mm !important; zoom: ${shrunk} !important } }`;
  sheet.removeAttribute("style");
  document.head.append(style);
  window.addEventListener("afterprint", () => { style.remove(); delete document.body.dataset.print; }, { once: true });
  window.print();
};

export const WallChoice = () => {
  const { facts } = useHand();
  const [paper, setPaper] = useState(/** @type {"A4" | "Letter"} */ (facts.units === "us" ? "Letter" : "A4"));
  return (
    <section class="card" id="wall">
      <h3>{t("wall")}</h3>
      <p>{t("wallWhat")}</p>
      <Choice label="" options={["A4", "Letter"]} value={paper} pick={setPaper} words={(value) => t(value === "A4" ? "paperA4" : "paperLetter")} />
      <button type="button" class="main" onClick={() => printWall(paper)}>{t("print")}</button>
    </section>
  );
};

export const Wall = () => {
  const { facts, state, now, nameOf } = useHand();
  const tasks = tasksNow(facts, state);
  const { visits, unmet } = visitsNow(facts, state, now);
  const indoors = tasks.filter((task) => task.place !== "hill");
  const begun = [...indoors.filter((task) => task.kind.endsWith("phase")).map((task) => task.from), ...[...state.batches.values()].map((batch) => dayOf(batch.started))];
  const over = [...tasks.filter((task) => task.kind === "plant out").map((task) => task.from), ...[...state.batches.values()].map((batch) => (batch.plantOut ? dayOf(batch.plantOut) : 0))];
  const looks = [];
  if (begun.length && over.length) {
    const first = Math.max(Math.min(...begun), dayOf(facts.made)) + 1;
    for (let at = first + ((facts.lookingDay - weekdayOf(first) + 7) % 7); at < Math.max(...over); at += 7) looks.push(at);
  }
  /** @type {Map<string, number[]>} */
  const months = new Map();
  for (const at of looks) months.set(isoOf(at).slice(0, 7), [...(months.get(isoOf(at).slice(0, 7)) ?? []), at]);
  return (
    <section class="wall" aria-hidden="true">
      <h1>{facts.site} <small>{t("season", { season: `${facts.season}/${String((facts.season + 1) % 100).padStart(2, "0")}` })}</small></h1>
      {facts.invented ? <p class="banner">{t("invented")}</p> : null}
      <YearChart tasks={tasks} />
      {looks.length ? <h2>{t("lookingDays", { weekday: everyWeek(facts.lookingDay) })}</h2> : null}
      <ul class="ticks">{[...months].map(([name, days]) => <li key={name}><b>{month(days[0])}{name.endsWith("-01") ? ` ${name.slice(0, 4)}` : ""}</b> {days.map((at) => `☐\u00a0${new Date(at * 86400000).getUTCDate()}`).join(" ")}</li>)}</ul>
      <div class={tasks.length > MANY_TASKS ? "columns three" : "columns"}>
        <h2>{t("work")}</h2>
        {visits.map((visit) => <div class="block" key={visit.day}><h3>☐ {day(visit.day)} <small>{t("light", { from: visit.light[0], to: visit.light[1] })}</small></h3><ul>{visit.tasks.map((task) => <li key={task.code}><b>{nameOf(task.species.name)}</b> {task.text}</li>)}</ul></div>)}
        {unmet.map((task) => <div class="block" key={task.code}>☐ <b>{nameOf(task.species.name)}</b> {task.text}</div>)}
        <h2>{t("inside")}</h2>
        {indoors.map((task) => <div class="block" key={task.code}>☐ {day(task.from)} <b>{nameOf(task.species.name)}</b> {task.text}</div>)}
        <h2>{t("cautions")}</h2>
        {facts.cautions.map((words) => <div class="block" key={words}>{words}</div>)}
        {[...new Set(tasks.map((task) => task.species))].map((species) => {
          const own = cautionsOf(facts, species.name).filter((words) => !facts.cautions.includes(words));
          return own.length ? <div class="block" key={species.name}><b>{nameOf(species.name)}</b> {own.join(" · ")}</div> : null;
        })}
      </div>
    </section>
  );
};

const KEY = /** @type {const} */ ([["sow", "keySow"], ["warm", "keyWarm"], ["cold", "keyCold"], ["point", "keyOut"], ["other", "keyOther"]]);

/** @param {{tasks: ReturnType<typeof tasksNow>}} props */
const YearChart = ({ tasks }) => {
  const { facts, nameOf } = useHand();
  const rows = facts.species.filter((species) => tasks.some((task) => task.species === species));
  if (!rows.length) return null;
  const first = Math.min(...tasks.map((task) => task.from));
  const last = Math.max(...tasks.map((task) => task.to)) + 1;
  const dense = rows.length > MANY_ROWS;
  const [left, wide, high] = [150, 700, dense ? 11 : 16];
  const x = (/** @type {number} */ at) => left + ((at - first) / (last - first)) * (wide - left);
  const months = [];
  for (let at = first; at <= last; at++) if (new Date(at * 86400000).getUTCDate() === 1) months.push(at);
  const named = months.length > MANY_MONTHS ? months.filter((at) => Number(isoOf(at).slice(5, 7)) % 3 === 1) : months;
  return (
    <svg class={dense ? "year dense" : "year"} viewBox={`0 0 ${wide} ${rows.length * high + 34}`}>
      <pattern id="cold-lines" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="#56b4e9" /><path d="M0 6L6 0" stroke="#1f2a2c" stroke-width=".6" /></pattern>
      <pattern id="warm-dots" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="#e69f00" /><circle cx="3" cy="3" r="1" fill="#1f2a2c" /></pattern>
      {KEY.map(([kind, words], n) => <g key={kind}><rect class={kind} x={left + n * 100} y={rows.length * high + 22} width="18" height="9" /><text class="key" x={left + n * 100 + 23} y={rows.length * high + 30}>{t(words)}</text></g>)}
      {months.map((at) => <g key={at}><line class="month" x1={x(at)} x2={x(at)} y1="14" y2={rows.length * high + 18} />{named.includes(at) ? <text x={x(at) + 2} y="11">{month(at) === "Jan" ? isoOf(at).slice(0, 4) : month(at)}</text> : null}</g>)}
      {rows.map((species, n) => (
        <g key={species.name}>
          <text x="0" y={n * high + (dense ? 26 : 28)}>{nameOf(species.name).slice(0, 26)}</text>
          {tasks.filter((task) => task.species === species).map((task) => {
            const end = task.kind.endsWith("phase") ? tasks.find((other) => other.species === species && other.way === task.way && other.from > task.from && (other.kind === "plant out" || other.kind.endsWith("phase")))?.from ?? task.to : task.to;
            const kind = task.kind === "cold phase" ? "cold" : task.kind === "warm phase" ? "warm" : task.kind === "sow" ? "sow" : task.kind === "plant out" ? "point" : "other";
            return <rect key={task.code} class={kind} x={x(task.from)} y={n * high + 19} width={Math.max(3, x(end) - x(task.from))} height={high - (dense ? 3 : 6)} />;
          })}
        </g>
      ))}
    </svg>
  );
};
