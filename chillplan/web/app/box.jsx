/** The weekly look, with exceptions by a tap; how far each batch is; the temperature of the box. */
import { useState } from "preact/hooks";
import { progress } from "./log.js";
import { isoOf } from "./rules.js";
import { Cautions, CautionsForAll, Choice, Field, markOf, Name, useHand } from "./parts.jsx";
import { day, degrees, inFahrenheit, t } from "./words.js";

const EXCEPTIONS = /** @type {const} */ (["mould", "dry", "sprouted"]);
const COUNTS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 15, 20, 30];

export const Box = () => {
  const { state, now, add, nameOf, facts } = useHand();
  const [found, setFound] = useState(/** @type {Record<string, string>} */ ({}));
  const [sprouts, setSprouts] = useState(/** @type {Record<string, number>} */ ({}));
  const batches = [...state.batches.values()].sort((a, b) => progress(state, a, now).nextLook - progress(state, b, now).nextLook || (a.ref < b.ref ? -1 : 1));
  const waiting = batches.some((batch) => found[batch.ref] === "sprouted" && !(sprouts[batch.ref] > 0));
  const keep = async () => {
    const entries = batches.map((batch) => ({
      kind: "look", batch: batch.ref, finding: found[batch.ref] ?? "fine", date: isoOf(now),
      sprouted: found[batch.ref] === "sprouted" ? sprouts[batch.ref] : null,
    }));
    if (await add(...entries)) setFound({});
  };
  if (!batches.length) return <><h2>{t("lookNow")}</h2><p class="calm">{t("emptyBox")}</p></>;
  return (
    <>
      <h2>{t("lookNow")}</h2>
      <CautionsForAll of={batches.map((batch) => batch.species)} />
      <ul class="rows look">
        {batches.map((batch) => (
          <li key={batch.ref}>
            <Far batch={batch} />
            <Cautions of={batch.species} />
            <div class="exceptions" role="group" aria-label={nameOf(batch.species)}>
              {EXCEPTIONS.map((finding) => (
                <button type="button" key={finding} aria-pressed={found[batch.ref] === finding} aria-label={`${finding === "sprouted" ? t("sprout") : t(finding)}: ${nameOf(batch.species)}`}
                  onClick={() => setFound({ ...found, [batch.ref]: found[batch.ref] === finding ? "" : finding })}>
                  {finding === "sprouted" ? t("sprout") : t(finding)}
                </button>
              ))}
            </div>
            {found[batch.ref] === "sprouted" ? (
              <div class="sprouts">
                <Choice label={t("howMany", { name: nameOf(batch.species) })} options={COUNTS} value={sprouts[batch.ref]} pick={(count) => setSprouts({ ...sprouts, [batch.ref]: count })} words={String} />
                <Field label={t("other")} type="number" min="1" inputmode="numeric" value={String(sprouts[batch.ref] ?? "")} put={(value) => setSprouts({ ...sprouts, [batch.ref]: Math.floor(Number(value)) })} />
              </div>
            ) : null}
            {found[batch.ref] ? <ol class="care">{facts.care[found[batch.ref]].map((words) => <li key={words}>{words}</li>)}</ol> : null}
          </li>
        ))}
      </ul>
      <button type="button" class="main" disabled={waiting} onClick={keep}>{Object.values(found).some(Boolean) ? t("restFine") : t("allFine")}</button>
      <Warmth />
    </>
  );
};

/** @param {{batch: import("./types.d.ts").Batch}} props */
const Far = ({ batch }) => {
  const { state, now, add, nameOf } = useHand();
  const { phase, far, nextLook } = progress(state, batch, now);
  const over = far !== null && far.done >= far.needed - 1e-9;
  const finding = batch.finding === "sprouted" ? t("sprout") : t(/** @type {any} */ (batch.finding ?? "fine"));
  return (
    <div>
      <Name>{nameOf(batch.species)}</Name> <small class="beside">{markOf(batch)} · {t("inBox", { place: batch.place })}</small>
      {far && phase ? (
        <>
          <div class="meter" aria-hidden="true"><i style={{ width: `${Math.min(100, (100 * far.done) / Math.max(far.needed, 1))}%` }} /></div>
          <small>{t("doneOf", { done: Math.round(far.done), needed: Math.round(far.needed) })}; {far.finish === null ? t("noFinish", { degrees: degrees(batch.set) }) : t(phase.kind === "cold" ? "finish" : "finishWarm", { day: day(far.finish) })}{far.lost ? ` (${t("lost", { n: far.lost })})` : ""}</small>
        </>
      ) : null}
      <small class={nextLook <= now ? "late" : ""}>{batch.looked ? t("lastFine", { day: day(batch.looked), finding: finding.toLowerCase() }) : t("neverLooked")}; {t("lookOn", { day: day(nextLook) })}</small>
      {over ? <button type="button" onClick={() => add({ kind: "next", batch: batch.ref, date: isoOf(now) })}>{batch.phases[1] ? t("next", { kind: batch.phases[1].kind }) : t("nextDone")}</button> : null}
    </div>
  );
};

const Warmth = () => {
  const { state, now, add } = useHand();
  const places = [...new Set([...state.batches.values()].map((batch) => batch.place))];
  const [place, setPlace] = useState(places[0]);
  const [from, setFrom] = useState(isoOf(now));
  const [to, setTo] = useState(isoOf(now));
  const [value, setValue] = useState("");
  const [unit, setUnit] = useState(inFahrenheit() ? "fahrenheit" : "celsius");
  const number = Number(value.replace(",", "."));
  const celsius = unit === "fahrenheit" ? (number - 32) / 1.8 : number;
  const good = value !== "" && celsius >= -60 && celsius <= 70 && from <= to && to <= isoOf(now);
  return (
    <section class="card">
      <h3>{t("warmth")}</h3>
      {places.length > 1 ? <Choice label={t("place")} options={places} value={place} pick={setPlace} words={String} /> : null}
      <div class="fields">
        <Field label={t("from")} type="date" value={from} max={isoOf(now)} put={setFrom} />
        <Field label={t("to")} type="date" value={to} max={isoOf(now)} put={setTo} />
        <Field label={t("temperature")} type="text" inputmode="decimal" value={value} put={setValue} />
        <Choice label="" options={["celsius", "fahrenheit"]} value={unit} pick={setUnit} />
      </div>
      <button type="button" disabled={!good} onClick={async () => { if (await add({ kind: "reading", place, from, to, celsius: Math.round(celsius * 100) / 100 })) setValue(""); }}>{t("keep")}{good ? ` ${degrees(celsius)}` : ""}</button>
    </section>
  );
};
