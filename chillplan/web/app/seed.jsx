/** The lots, and the planting date moved over the winters. */
import { useState } from "preact/hooks";
import { beginning, tasksNow, waysOf } from "./log.js";
import { isoOf } from "./rules.js";
import { Cautions, CautionsForAll, Choice, Field, Name, useHand } from "./parts.jsx";
import { Planting } from "./planting.jsx";
import { day, said, t } from "./words.js";

const AMOUNTS = [20, 50, 100, 200, 500];

export const Seed = () => {
  const { facts, state, now, nameOf } = useHand();
  const [open, setOpen] = useState(/** @type {string | null} */ (null));
  const tasks = tasksNow(facts, state);
  return (
    <>
      <h2>{t("seed")}</h2>
      <button type="button" class="main" aria-expanded={open === "new"} onClick={() => setOpen(open === "new" ? null : "new")}>{t("addLot")}</button>
      {open === "new" ? <LotForm close={() => setOpen(null)} /> : null}
      {state.lots.size ? null : <p class="calm">{t("noLots")}</p>}
      <ul class="rows">
        {[...state.lots].map(([id, lot]) => {
          const species = facts.species.find((one) => one.name === lot.species);
          const next = tasks.find((task) => task.species === species);
          return (
            <li key={id}>
              <div>
                <Name>{lot.lot || nameOf(lot.species)}</Name> <small>{[lot.amount, said(lot.state.replace(/ \d.*/, "")), lot.picked && day(lot.picked), said(lot.way)].filter(Boolean).join(" · ")}</small>
                {next ? <small><b>{day(Math.max(next.from, now))}</b>: {next.text}</small> : null}
                <Cautions of={lot.species} />
              </div>
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

/** @param {{id?: string, lot?: import("./types.d.ts").Lot, close: () => void}} props */
const LotForm = ({ id, lot, close }) => {
  const { facts, state, now, add, nameOf } = useHand();
  const [name, setName] = useState(lot?.species ?? "");
  const [amount, setAmount] = useState(/\d+/.exec(lot?.amount ?? "")?.[0] ?? "");
  const [picked, setPicked] = useState(lot?.picked || isoOf(now));
  const [condition, setCondition] = useState(lot?.state.replace(/ \d.*/, "") ?? "cleaned and dried");
  const [days, setDays] = useState(/\d+/.exec(lot?.state ?? "")?.[0] ?? "");
  const [way, setWay] = useState(lot?.way ?? "undecided");
  const species = facts.species.find((one) => one.name === name);
  const stratified = condition === "already stratified";
  const good = name && (!stratified || Number(days) > 0) && picked <= isoOf(now);
  const cells = {
    ...Object.fromEntries(["lot", "where", "viability", "place"].map((key) => [key, lot?.[key] ?? ""])),
    species: name, picked, amount: amount ? `${Number(amount)} seeds` : "", way, state: stratified ? `${condition} ${Number(days)} days` : condition,
  };
  const keep = async () => {
    if (await add({ kind: "lot", lot: cells, ...(id ? { of: id, was: lot } : {}) })) close();
  };
  const intoBox = async () => {
    if (!species) return;
    const begin = beginning(facts, state, species, now, amount ? Number(amount) : null);
    if (await add({ kind: "lot", lot: { ...cells, way: "cold store" }, ...(id ? { of: id, was: lot } : {}) }, begin)) close();
  };
  return (
    <div class="card form">
      {id ? null : <Choice label={t("species")} options={facts.species.map((one) => one.name)} value={name} pick={setName} words={nameOf} />}
      <Choice label={t("amount")} options={AMOUNTS.map(String)} value={amount} pick={setAmount} words={String} />
      <Choice label={t("state")} options={facts.states} value={condition} pick={setCondition} />
      {stratified ? <Field label={t("days")} type="number" min="1" inputmode="numeric" value={days} put={setDays} /> : null}
      <Choice label={t("way")} options={facts.ways} value={way} pick={setWay} />
      <div class="fields">
        <Field label={t("other")} type="number" min="1" inputmode="numeric" value={amount} put={setAmount} />
        <Field label={t("picked")} type="date" value={picked} max={isoOf(now)} put={setPicked} />
      </div>
      {species ? <p class="calm">{species.words}. {species.when} {[...waysOf(state, species)].length ? "" : species.reason}</p> : null}
      {name ? <><Cautions of={name} /><CautionsForAll of={[name]} /></> : null}
      <button type="button" class="main" disabled={!good} onClick={keep}>{t("keepLot")}</button>
      {species?.phases.length ? <button type="button" disabled={!good} onClick={intoBox}>{t("intoBox")}</button> : null}
      <button type="button" onClick={close}>{t("cancel")}</button>
    </div>
  );
};
