/** The way back to the laptop: as a file, to another app, as QR codes in parts, as text. */
import { useEffect, useState } from "preact/hooks";
import { encode } from "uqr";
import { fileOf } from "./log.js";
import { batchName, useHand } from "./parts.jsx";
import { said, t } from "./words.js";
/** @import { Entry } from "./types.d.ts" */

const PART = 400; // characters of a QR code: about 77 dots a side, which a laptop camera reads at arm's length
const LAST = 30;

/** A text in parts, each with the number of parts and a mark of the whole. @param {string} text */
export const parts = (text) => {
  const letters = [...text]; // whole characters: a picture sign is never cut in two
  const mark = letters.reduce((sum, letter) => (sum * 31 + Number(letter.codePointAt(0))) % 0xffffff, 7).toString(16);
  const count = Math.max(1, Math.ceil(letters.length / PART));
  return Array.from({ length: count }, (_, n) => `chillplan ${mark} ${n + 1}/${count} ${letters.slice(n * PART, (n + 1) * PART).join("")}`);
};

/** @param {{site: string, season: number}} of @param {string} text */
const fileNamed = ({ site, season }, text) => new File([text], `chillplan-${season}-${site.replace(/[^\p{L}\p{N}]+/gu, "-")}.json`, { type: "application/json" });

/** @param {File} file */
const download = (file) => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
};

/** Entries that a page of another season or name left here; nothing else shows them. @param {{brought: Set<string>}} props */
const Others = ({ brought }) => {
  const { elsewhere } = useHand();
  const [found, setFound] = useState(/** @type {import("./store.js").Elsewhere[]} */ ([]));
  useEffect(() => { elsewhere().then(setFound).catch(() => {}); }, []);
  const left = found.map((one) => ({ ...one, entries: one.entries.filter((entry) => !brought.has(entry.id)) })).filter((one) => one.entries.length);
  return left.length ? (
    <details open><summary>{t("elsewhere")}</summary>
      {left.map((one) => <p key={`${one.site} ${one.season}`}>{t("elsewhereWhat", { name: `${one.site} ${one.season}`, n: one.entries.length })} <button type="button" onClick={() => download(fileNamed(one, fileOf(one, one.entries)))}>{t("download")}</button></p>)}
    </details>
  ) : null;
};

export const Back = () => {
  const { facts, own, state, add, put, nameOf } = useHand();
  const told = (/** @type {Entry} */ entry) => wordsOf(entry, state, nameOf);
  const [shown, setShown] = useState(/** @type {"" | "qr" | "text"} */ (""));
  const [part, setPart] = useState(0);
  const [answer, setAnswer] = useState("");
  const brought = new Set(facts.entries.map((entry) => entry.id));
  const fresh = own.filter((entry) => !brought.has(entry.id));
  const text = fileOf(facts, fresh);
  const file = () => fileNamed(facts, text);
  const read = async (/** @type {File | undefined} */ given) => {
    try {
      const content = JSON.parse(await /** @type {File} */ (given).text());
      if (content.kind !== "chillplan page" || !Array.isArray(content.entries)) throw new Error();
      const there = new Set([...own.map((entry) => entry.id), ...brought]);
      const entries = content.entries.filter((/** @type {Entry} */ entry) => typeof entry.id === "string" && typeof entry.at === "string" && !there.has(entry.id));
      if (await put(entries)) setAnswer(t("readDone", { n: entries.length, old: content.entries.length - entries.length }));
    } catch {
      setAnswer(t("readBad"));
    }
  };
  const pieces = shown === "qr" ? parts(text) : [];
  return (
    <section class="card" id="back">
      <h3>{t("back")}</h3>
      <p>{t("backWhat")}</p>
      <p><b>{fresh.length ? t("entries", { n: fresh.length }) : t("nothingBack")}</b></p>
      {fresh.length ? (
        <div class="buttons">
          {"canShare" in navigator && navigator.canShare({ files: [file()] }) ? <button type="button" class="main" onClick={() => navigator.share({ files: [file()] }).catch(() => setAnswer(""))}>{t("share")}</button> : null}
          <button type="button" class="main" onClick={() => download(file())}>{t("download")}</button>
          <button type="button" aria-expanded={shown === "qr"} onClick={() => { setPart(0); setShown(shown === "qr" ? "" : "qr"); }}>{t("qr")}</button>
          <button type="button" aria-expanded={shown === "text"} onClick={() => setShown(shown === "text" ? "" : "text")}>{t("text")}</button>
        </div>
      ) : null}
      {shown === "qr" && fresh.length ? (
        <figure class="qr">
          <Code text={pieces[part]} label={t("qrPart", { n: part + 1, of: pieces.length })} />
          <figcaption>{t("qrPart", { n: part + 1, of: pieces.length })}</figcaption>
          <div class="buttons">
            <button type="button" disabled={part === 0} onClick={() => setPart(part - 1)}>{t("lastPart")}</button>
            <button type="button" disabled={part + 1 >= pieces.length} onClick={() => setPart(part + 1)}>{t("nextPart")}</button>
          </div>
        </figure>
      ) : null}
      {shown === "text" && fresh.length ? <textarea readonly aria-label={t("text")} rows={6} value={text} onFocus={(event) => event.currentTarget.select()} /> : null}
      <Others brought={brought} />
      <details><summary>{t("readBack")}</summary><label class="field"><span>{t("readFile")}</span><input type="file" accept=".json,application/json" onChange={(event) => read(event.currentTarget.files?.[0])} /></label></details>
      {answer ? <p role="status">{answer}</p> : null}
      {state.entries.length ? (
        <details><summary>{t("recent")}</summary>
          <ul class="rows">
            {fresh.filter((entry) => entry.kind !== "undo").slice(-LAST).reverse().map((entry) => (
              <li key={entry.id}><div><span>{told(entry)}</span> <small>{entry.at.slice(0, 16).replace("T", " ")}</small></div>
                {state.undone.has(entry.id) ? <small>{t("takenBack")}</small> : <button type="button" aria-label={`${t("undo")}: ${told(entry)}`} onClick={() => add({ kind: "undo", of: entry.id })}>{t("undo")}</button>}
              </li>
            ))}
          </ul>
        </details>
      ) : null}
    </section>
  );
};

const KINDS = /** @type {const} */ ({ lot: "lot", begin: "begin", look: "look", reading: "reading", task: "task", plant: "plant", crew: "crew", sow: "sowing", count: "counting", next: "move" });
/** An entry in a few words. @param {Entry} entry @param {import("./log.js").State} state @param {(species: string) => string} nameOf */
const wordsOf = (entry, state, nameOf) => {
  const name = entry.species ?? entry.lot?.species ?? state.sowings.get(entry.sowing)?.species ?? entry.task?.split("/")[0];
  const about = name ? nameOf(name) : entry.batch ? batchName(state.batches.get(entry.batch), nameOf) || entry.batch : entry.place ?? "";
  return [t(KINDS[/** @type {keyof typeof KINDS} */ (entry.kind)]), about, entry.finding ? said(entry.finding).toLowerCase() : ""].filter(Boolean).join(" ");
};

/** @param {{text: string, label: string}} props */
const Code = ({ text, label }) => {
  const { data, size } = encode(text, { ecc: "L", border: 4 });
  const path = data.flatMap((row, y) => row.map((dark, x) => (dark ? `M${x} ${y}h1v1h-1z` : ""))).join("");
  return <svg viewBox={`0 0 ${size} ${size}`} role="img" aria-label={label} shape-rendering="crispEdges"><rect width={size} height={size} fill="#fff" /><path d={path} fill="#000" /></svg>;
};
