/** The lots, and the planting date moved over the winters. */
import { useState } from "preact/hooks";
import { beginning, stepsInto, tasksNow } from "./log.js";
import { rowOf, waysOf } from "./lots.js";
import { isoOf } from "./rules.js";
import { Cautions, CautionsForAll, Choice, Field, Name, useHand } from "./parts.jsx";
import { Planting } from "./planting.jsx";
import { day, said, t, weight } from "./words.js";
/** @import { Lot } from "./types.d.ts" */

const AMOUNTS = [20, 50, 100, 200, 500];
const UNPICKED = "fresh on the plant";

export const Seed = () => {
  const { facts, state, now, nameOf } = useHand();
  const [open, setOpen] = useState(/** @type {string | null} */ (null));
  const tasks = tasksNow(facts, state);
  return (
    <>
      <h2>{t("seed")}</h2>
      <div class="buttons"><button type="button" class="main" aria-expanded={open === "new"} onClick={() => setOpen(open === "new" ? null : "new")}>{t("addLot")}</button>
      <a class="button" href="#seed" onClick={() => document.getElementById("planting")?.scrollIntoView()}>{t("planting")}</a></div>
      {open === "new" ? <LotForm close={() => setOpen(null)} /> : null}
      {state.lots.size ? null : <p class="calm">{t("noLots")}</p>}
      <ul class="rows">
        {[...state.lots].map(([id, lot]) => {
          const species = rowOf(facts, id, lot.species);
          const mark = lot.lot || (species?.lot !== null && `plan ${species?.lot}` === id ? species?.lotName : "");
          const next = tasks.find((task) => task.species === species);
          return (
            <li key={id}>
              <div>
                <Name>{nameOf(lot.species)}</Name>{mark ? <> · <Name>{mark}</Name></> : null} <small>{[weight(lot.amount), stateOf(lot), lot.picked && t("pickedOn", { day: day(lot.picked) }), said(lot.way)].filter(Boolean).join(" · ")}</small>
                {next ? <small><b>{day(Math.max(next.from, now))}</b>: {next.text}</small> : null}
              </div>
              <Cautions of={lot.species} />
              <button type="button" aria-expanded={open === id} aria-label={`${t("change")}: ${nameOf(lot.species)}`} onClick={() => setOpen(open === id ? null : id)}>{t("change")}</button>
              {open === id ? <LotForm id={id} lot={lot} close={() => setOpen(null)} /> : null}
            </li>
          );
        })}
      </ul>
      <CautionsForAll of={[...state.lots.values()].map((lot) => lot.species)} />
      <Planting />
    </>
  );
};

/** @param {string} words */
const sentence = (words) => words.charAt(0).toUpperCase() + words.slice(1);

/** @param {Lot} lot */
const stateOf = (lot) => [said(lot.state.replace(/ \d.*/, "")), /\d.*/.exec(lot.state)?.[0]].filter(Boolean).join(" ");

/** A lot of which nothing was said yet but its name. @param {Lot} lot */
const saysNothing = (lot) => !lot.lot && !lot.amount && !lot.picked && !lot.where && lot.way === "undecided";

/** @param {{id?: string, lot?: Lot, close: () => void}} props */
const LotForm = ({ id, lot, close }) => {
  const { facts, state, now, add, nameOf } = useHand();
  const [name, setName] = useState(lot?.species ?? "");
  const [amount, setAmount] = useState(/^(\d+) seeds$/.exec(lot?.amount ?? "")?.[1] ?? "");
  const [picked, setPicked] = useState(lot?.picked ?? "");
  const [condition, setCondition] = useState(lot?.state.replace(/ \d.*/, "") ?? "cleaned and dried");
  const [days, setDays] = useState(/[\d.]+/.exec(lot?.state ?? "")?.[0] ?? "");
  const [way, setWay] = useState(lot?.way ?? "undecided");
  const species = rowOf(facts, id, name);
  const stratified = condition === "already stratified";
  const whole = amount === "" || (Number.isInteger(Number(amount)) && Number(amount) > 0);
  const missing = !name ? t("needSpecies") : !whole ? t("needWhole") : stratified && !(Number(days) > 0) ? t("needDays") : picked > isoOf(now) && condition !== UNPICKED ? t("needPicked") : "";
  const good = !missing;
  const weighed = lot && !/ seeds$/.test(lot.amount) ? lot.amount : "";
  const earlier = [...state.lots].find(([, one]) => one.species === name && saysNothing(one));
  const changed = id ? { of: id, was: lot } : earlier ? { of: earlier[0], was: earlier[1] } : {};
  const cells = {
    ...Object.fromEntries(["lot", "where", "viability", "place"].map((key) => [key, lot?.[key] ?? ""])),
    species: name, picked, amount: amount ? `${Number(amount)} seeds` : weighed, way, state: stratified ? `${condition} ${Number(days)} days` : condition,
  };
  const keep = async () => {
    if (await add({ kind: "lot", lot: cells, ...changed })) close();
  };
  const intoBox = async () => {
    if (!species) return;
    const begin = { ...beginning(facts, state, species, now, amount ? Number(amount) : null), coldDone: stratified ? Number(days) : 0 };
    const done = stepsInto(facts, state, species).map((task) => ({ kind: "task", task: task.code, date: isoOf(now) }));
    if (await add({ kind: "lot", lot: { ...cells, way: "cold store" }, ...changed }, begin, ...done)) close();
  };
  return (
    <div class="card form">
      {id ? null : <Choice label={t("species")} options={[...new Set(facts.species.map((one) => one.latin))]} value={name} pick={setName} words={nameOf} />}
      <Choice label={t("amount")} options={AMOUNTS.map(String)} value={amount} pick={setAmount} words={String} />
      <Choice label={t("state")} options={facts.states} value={condition} pick={setCondition} />
      {stratified ? <Field label={t("days")} type="number" min="1" inputmode="numeric" value={days} put={setDays} /> : null}
      <Choice label={t("way")} options={facts.ways} value={way} pick={setWay} />
      <div class="fields">
        <Field label={t("other")} type="number" min="1" inputmode="numeric" value={amount} put={setAmount} />
        <Field label={t("picked")} type="date" value={picked} max={condition === UNPICKED ? undefined : isoOf(now)} put={setPicked} />
      </div>
      {weighed ? <p class="calm">{t("weighed", { amount: weight(weighed) })}</p> : null}
      {species ? <p class="calm">{sentence(species.words)}. {sentence(species.when)}{[...waysOf(facts, state, species)].length ? "" : `. ${species.reason}`}</p> : null}
      {name ? <><Cautions of={name} /><CautionsForAll of={[name]} /></> : null}
      {missing ? <p class="calm">{missing}</p> : null}
      <div class="buttons">
        <button type="button" class="main" disabled={!good} onClick={keep}>{t("keepLot")}</button>
        {species?.phases.length ? <button type="button" disabled={!good} onClick={intoBox}>{t("intoBox")}</button> : null}
        <button type="button" onClick={close}>{t("cancel")}</button>
      </div>
    </div>
  );
};
