/** What was sown where, and what came up, against what was promised for that date. */
import { useState } from "preact/hooks";
import { rowNamed } from "./lots.js";
import { dayOf, isoOf, percentile, sharesOn } from "./rules.js";
import { batchName, Cautions, Field, Name, useHand } from "./parts.jsx";
import { day, percent, t } from "./words.js";
/** @import { Facts } from "./types.d.ts" */

/** Share up that the winters promise for a sowing. @param {Facts} facts @param {Map<string, Uint8Array>} tables @param {string} name @param {number} date @param {boolean} treated @returns {[number, number, number] | null} */
export const promised = (facts, tables, name, date, treated) => {
  const table = tables.get(`${treated ? "planted" : "sown"} ${name}`);
  if (!table) return null;
  const shares = sharesOn(facts, table, (date - dayOf(facts.start) + 365) % 365);
  const of = (/** @type {number} */ share) => Math.round((percentile(shares, share) / facts.shares) * 1000) / 1000;
  return [of(0.1), of(0.5), of(0.9)];
};

export const Beds = () => {
  const { facts, state, now, add, nameOf, tables } = useHand();
  const [what, setWhat] = useState("");
  const [date, setDate] = useState(isoOf(now));
  const [bed, setBed] = useState("");
  const [seeds, setSeeds] = useState("");
  const batch = state.batches.get(what);
  const row = batch ? rowNamed(facts, batch.species, batch.name) : facts.species.find((one) => one.name === what);
  const species = batch?.species ?? row?.latin ?? "";
  const amount = Number(seeds || batch?.seeds || 0);
  const good = species && amount > 0 && Number.isInteger(amount) && date <= isoOf(now) && (!batch?.seeds || amount <= batch.seeds);
  const keep = async () => {
    const expected = row ? promised(facts, tables, row.name, dayOf(date), Boolean(batch)) : null;
    if (await add({ kind: "sow", batch: batch ? batch.ref : null, species, date, bed, seeds: amount, expected })) [setWhat, setBed, setSeeds].forEach((clear) => clear(""));
  };
  return (
    <>
      <h2>{t("sowLog")}</h2>
      {state.sowings.size ? null : <p class="calm">{t("noSowings")}</p>}
      <ul class="rows">{[...state.sowings.values()].map((sowing) => <Sown key={sowing.ref} sowing={sowing} />)}</ul>
      <section class="card form">
        <label class="field wide"><span>{t("whatSown")}</span>
          <select value={what} onChange={(event) => setWhat(event.currentTarget.value)}>
            <option value="">{t("choose")}</option>
            {state.batches.size ? <optgroup label={t("fromBatch")}>{[...state.batches.values()].map((one) => <option key={one.ref} value={one.ref}>{batchName(one, nameOf)}</option>)}</optgroup> : null}
            <optgroup label={t("fromBag")}>{facts.species.map((one) => <option key={one.name} value={one.name}>{nameOf(one.name)}</option>)}</optgroup>
          </select>
        </label>
        {species ? <Cautions of={species} /> : null}
        <div class="fields">
          <Field label={t("amount")} type="number" min="1" inputmode="numeric" value={seeds || String(batch?.seeds ?? "")} put={setSeeds} />
          <Field label={t("bed")} type="text" maxlength={80} value={bed} put={setBed} />
          <Field label={t("date")} type="date" value={date} max={isoOf(now)} put={setDate} />
        </div>
        <button type="button" class="main" disabled={!good} onClick={keep}>{t("sow")}</button>
      </section>
    </>
  );
};

/** @param {{sowing: import("./types.d.ts").Sowing}} props */
const Sown = ({ sowing }) => {
  const { add, now, nameOf } = useHand();
  const [up, setUp] = useState("");
  const share = sowing.up === null ? null : sowing.up / sowing.seeds;
  const [low, middle, high] = sowing.expected ?? [0, 0, 0];
  const held = share === null || !sowing.expected ? "" : share < low ? t("fewer") : share > high ? t("morethan") : t("asPromised");
  const good = up !== "" && Number.isInteger(Number(up)) && Number(up) >= 0 && Number(up) <= sowing.seeds;
  return (
    <li>
      <div>
        <Name>{nameOf(sowing.species)}</Name> <small>{[sowing.bed, t("sownOn", { n: sowing.seeds, day: day(sowing.sown) })].filter(Boolean).join(" · ")}</small>
        {sowing.expected ? <small>{t("promised", { middle: percent(middle), low: percent(low), high: percent(high) })}</small> : null}
        {share === null ? null : <small><b>{t("counted", { n: sowing.up ?? 0, share: percent(share) })}</b>{held ? `: ${held}` : ""}{held === t("fewer") ? ` (${t("tooEarly")})` : ""}</small>}
      </div>
      <div class="fields">
        <Field label={t("count")} type="number" min="0" inputmode="numeric" value={up} put={setUp} />
        <button type="button" disabled={!good} onClick={async () => { if (await add({ kind: "count", sowing: sowing.ref, up: Number(up), date: isoOf(now) })) setUp(""); }}>{t("keepCount")}</button>
      </div>
    </li>
  );
};
