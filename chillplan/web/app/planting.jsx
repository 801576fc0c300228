/** The planting date over the winters: into the cold, frost still to come, and the share up. */
import { useMemo, useState } from "preact/hooks";
import { plantingOf } from "./log.js";
import { creditOf } from "./lots.js";
import { countBack, dayOf, frostRisk, goodOf, isoOf, percentile, sharesOn } from "./rules.js";
import { useHand } from "./parts.jsx";
import { day, month, percent, t } from "./words.js";
/** @import { Species } from "./types.d.ts" */

const FIRST = 182; // earliest date of the slider: midwinter of the season
const LAST = 333;
const [WIDE, HIGH, FOOT] = [340, 110, 16];

export const Planting = () => {
  const { facts, nameOf } = useHand();
  const treated = facts.species.filter((species) => species.plantOut && species.phases.length && !species.killed);
  const [name, setName] = useState(treated[0]?.name);
  const species = treated.find((one) => one.name === name);
  return (
    <section class="card" id="planting">
      <h3>{t("planting")}</h3>
      {species ? (
        <>
          <label class="field"><span>{t("species")}</span>
            <select value={name} onChange={(event) => setName(event.currentTarget.value)}>{treated.map((one) => <option key={one.name} value={one.name}>{nameOf(one.name)}</option>)}</select>
          </label>
          <Mover key={name} species={species} />
        </>
      ) : <p class="calm">{t("noFridge")}</p>}
    </section>
  );
};

/** @param {{species: Species}} props */
const Mover = ({ species }) => {
  const { facts, state, now, add, tables } = useHand();
  const start = dayOf(facts.start);
  const kept = plantingOf(facts, state, species) ?? start + FIRST;
  const year = Math.max(0, Math.floor((kept - start) / 365)) * 365; // plans of the next season move with it
  const [at, setAt] = useState(kept);
  const table = /** @type {Uint8Array} */ (tables.get(`planted ${species.name}`));
  const index = at - start - year;
  const shares = sharesOn(facts, table, index);
  const back = countBack(species, at, creditOf(facts, state, species));
  const low = percentile(shares, 0.1) / facts.shares;
  const middle = percentile(shares, 0.5) / facts.shares;
  const high = percentile(shares, 0.9) / facts.shares;
  const risk = frostRisk(facts, species.limit, index);
  const count = facts.winters.length;
  return (
    <>
      <label class="slide">
        <span class="answer"><b>{t("plantOut", { day: day(at) })}</b>{back.intoCold === null ? null : <b id="into-cold">{t("intoCold", { day: day(back.intoCold) })}</b>}<small>{t("prepare", { day: day(back.prepare) })}</small></span>
        <input type="range" min={start + year + FIRST} max={start + year + LAST} value={at} aria-valuetext={`${t("plantOut", { day: day(at) })}; ${back.intoCold === null ? "" : t("intoCold", { day: day(back.intoCold) })}`} onInput={(event) => setAt(Number(event.currentTarget.value))} />
      </label>
      <Drawn species={species} table={table} index={index} />
      <p>{t("upHere", { good: goodOf(facts, shares), winters: count, middle: percent(middle), low: percent(low), high: percent(high) })}.</p>
      <p>{t("frostAfter", { n: Math.round(risk * count), winters: count })}.</p>
      {back.prepare < now ? <p class="late">{t("tooLate")}</p> : null}
      <button type="button" disabled={at === kept} onClick={() => add({ kind: "plant", species: species.name, plantOut: isoOf(at) })}>{t("keepDate")}</button>
      {state.planting.has(species.name) ? <button type="button" onClick={async () => { if (await add({ kind: "plant", species: species.name, plantOut: null }) && species.plantOut) setAt(dayOf(species.plantOut)); }}>{t("ofPlan")}</button> : null}
    </>
  );
};

/** @param {{species: Species, table: Uint8Array, index: number}} props */
const Drawn = ({ species, table, index }) => {
  const { facts } = useHand();
  const x = (/** @type {number} */ at) => ((at - FIRST) / (LAST - FIRST)) * WIDE;
  const y = (/** @type {number} */ share) => HIGH - share * (HIGH - 8) - 2;
  const curves = useMemo(() => {
    const at = Array.from({ length: Math.floor((LAST - FIRST) / facts.step) + 1 }, (_, n) => FIRST + n * facts.step);
    const line = (/** @type {(at: number) => number} */ value) => at.map((day) => `${x(day).toFixed(1)},${y(value(day)).toFixed(1)}`).join(" ");
    const up = (/** @type {number} */ share) => (/** @type {number} */ day) => percentile(sharesOn(facts, table, day), share) / facts.shares;
    return { low: line(up(0.1)), high: line(up(0.9)), middle: line(up(0.5)), frost: line((day) => frostRisk(facts, species.limit, day)) };
  }, [table]);
  const start = dayOf(facts.start);
  const months = Array.from({ length: LAST - FIRST }, (_, n) => FIRST + n).filter((at) => isoOf(start + at).endsWith("-01"));
  const shares = sharesOn(facts, table, index);
  const bar = WIDE / shares.length;
  return (
    <figure>
      <svg viewBox={`0 0 ${WIDE} ${HIGH + FOOT}`} role="img" aria-label={`${t("up")}; ${t("frost")}`}>
        {months.map((at) => <g key={at}><line class="month" x1={x(at)} x2={x(at)} y1="0" y2={HIGH + 4} /><text x={x(at) + 3} y={HIGH + FOOT - 3}>{month(start + at)}</text></g>)}
        <polygon class="band" points={`${curves.low} ${curves.high.split(" ").reverse().join(" ")}`} />
        <polyline class="middle" points={curves.middle} />
        <polyline class="frost" points={curves.frost} />
        <line class="cursor" x1={x(index)} x2={x(index)} y1="0" y2={HIGH} />
      </svg>
      <figcaption><span class="key up">{t("up")}</span> <span class="key frost">{t("frost")}</span></figcaption>
      <svg class="winters" viewBox={`0 0 ${WIDE} 40`} role="img" aria-label={t("byWinter", { first: facts.winters[0], last: facts.winters[facts.winters.length - 1] })}>
        {Array.from(shares, (share, n) => {
          const tall = Math.max(1, (38 * share) / facts.shares);
          return <rect key={n} class={share >= facts.target * facts.shares ? "good" : "poor"} x={n * bar + 0.5} width={Math.max(1, bar - 1)} y={40 - tall} height={tall} />;
        })}
      </svg>
      <figcaption>{t("byWinter", { first: facts.winters[0], last: facts.winters[facts.winters.length - 1] })}</figcaption>
    </figure>
  );
};
