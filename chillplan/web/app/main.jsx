/** The page: five screens over one log of entries. */
import { render } from "preact";
import { useEffect, useMemo, useState } from "preact/hooks";
import { Back } from "./back.jsx";
import { Beds, promised } from "./beds.jsx";
import { Box } from "./box.jsx";
import { Days, visitsNow } from "./days.jsx";
import { fileOf, progress, standing, tasksNow } from "./log.js";
import { HandContext, useHand } from "./parts.jsx";
import * as rules from "./rules.js";
import { Seed } from "./seed.jsx";
import { identifier, openStore } from "./store.js";
import { Today } from "./today.jsx";
import { Wall, WallChoice } from "./wall.jsx";
import * as words from "./words.js";
/** @import { Entry, Facts } from "./types.d.ts" */

const { t } = words;
const SCREENS = /** @type {const} */ (["today", "seed", "box", "beds", "more"]);
const MARKS = { today: "☀", seed: "✿", box: "❄", beds: "≋", more: "⋯" };

const More = () => (
  <>
    <h2>{t("more")}</h2>
    <Back />
    <Days />
    <WallChoice />
    <section class="card"><h3>{t("report")}</h3><p>{t("reportWhat")}</p><a class="button" href="#report">{t("openReport")}</a></section>
  </>
);
const SHOWN = { today: Today, seed: Seed, box: Box, beds: Beds, more: More };

const hashScreen = () => SCREENS.find((screen) => location.hash === `#${screen}`) ?? "today";

const LONGEST_USE = 400; // days after which a page is older than its season

/** @param {Entry[]} before @param {Entry[]} more */
const joined = (before, more) => {
  const there = new Set(before.map((entry) => entry.id));
  const fresh = more.filter((entry) => !there.has(entry.id));
  return fresh.length ? [...before, ...fresh] : before;
};

/** The clock of the device, once for an entry: local time without zone, as the journal keeps it. */
const moment = () => {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 23);
};

/** @param {{facts: Facts, store: Awaited<ReturnType<typeof openStore>>, kept: Entry[]}} props */
const App = ({ facts, store, kept }) => {
  const [own, setOwn] = useState(kept);
  const [screen, setScreen] = useState(hashScreen());
  const [now, setNow] = useState(rules.today());
  const [told, setTold] = useState({ words: "", bad: false });
  useEffect(() => {
    const turn = () => { if (location.hash !== "#report") setScreen(hashScreen()); };
    const wake = () => {
      setNow(rules.today());
      if (store.keeps) store.all().then((there) => setOwn((before) => joined(before, there))).catch(() => {}); // what another window entered
    };
    window.addEventListener("hashchange", turn);
    document.addEventListener("visibilitychange", wake);
    return () => { window.removeEventListener("hashchange", turn); document.removeEventListener("visibilitychange", wake); };
  }, []);
  const tables = useMemo(() => new Map(facts.species.flatMap((one) => /** @type {[string, Uint8Array][]} */ ([[`sown ${one.name}`, rules.tableOf(one.sown)], [`planted ${one.name}`, rules.tableOf(one.planted)]]))), [facts]);
  const names = useMemo(() => new Map([...Object.entries(facts.others).map(([name, one]) => ({ name, common: one.common })), ...facts.species.map((one) => ({ name: one.latin, common: one.plain })), ...facts.species].map((one) => [one.name, one.common || one.name])), [facts]);
  const state = useMemo(() => standing(facts, own), [facts, own]);
  const put = async (/** @type {Entry[]} */ entries) => {
    setTold({ words: "", bad: false });
    try {
      const lasts = await store.add(entries);
      setOwn((before) => joined(before, entries));
      setTold(lasts ? { words: t("kept"), bad: false } : { words: t("noStorage"), bad: true });
      return true;
    } catch (error) {
      setTold({ words: t("notKept", { why: String(/** @type {Error} */ (error).message) }), bad: true });
      return false;
    }
  };
  const add = (/** @type {{kind: string}[]} */ ...entries) => {
    const [at, one] = [moment(), identifier()];
    return put(entries.map((entry, n) => ({ id: `${one}${String(n).padStart(3, "0")}`, at, ...entry })));
  };
  const go = (/** @type {string} */ to) => { location.hash = `#${to}`; window.scrollTo(0, 0); };
  const hand = { facts, state, own, now, keeps: store.keeps, elsewhere: store.elsewhere, add, put, go, nameOf: (/** @type {string} */ name) => names.get(name) ?? name, tables };
  const Screen = SHOWN[screen];
  return (
    <HandContext.Provider value={hand}>
      <a class="skip" href="#page" onClick={(event) => { event.preventDefault(); document.getElementById("page")?.focus(); }}>{t("skip")}</a>
      <header><div class="top"><h1><bdi>{facts.site}</bdi></h1><span>{words.day(now)}</span></div><Notices store={store} /></header>
      <main id="page" tabIndex={-1}>
        <Screen />
        <p class={told.bad ? "told bad" : "told"} role={told.bad ? "alert" : "status"}>{told.words}</p>
      </main>
      <nav class="screens" aria-label={t("screens")}>
        {SCREENS.map((one) => <a key={one} href={`#${one}`} aria-current={one === screen ? "page" : undefined} onClick={() => window.scrollTo(0, 0)}><span aria-hidden="true">{MARKS[one]}</span>{t(one)}</a>)}
      </nav>
      <Wall />
    </HandContext.Provider>
  );
};

/** @param {{store: {keeps: boolean, lasting: boolean}}} props */
const Notices = ({ store }) => {
  const { facts, now } = useHand();
  const made = rules.dayOf(facts.made);
  return (
    <>
      {store.keeps ? null : <p class="banner" role="alert" id="no-storage">{t("noStorage")}</p>}
      {now < made ? <p class="banner" role="alert">{t("clockBehind", { now: words.day(now), made: words.day(made) })}</p> : null}
      {now > made + LONGEST_USE ? <p class="banner" role="note">{t("pageOld", { made: words.day(made) })}</p> : null}
      {facts.invented ? <p class="banner" role="note">{t("invented")}</p> : null}
      {store.keeps && !store.lasting ? <p class="quiet">{t("mayGo")}</p> : null}
    </>
  );
};

const begin = async () => {
  /** @type {Facts} */
  const facts = JSON.parse(document.getElementById("facts")?.textContent ?? "");
  words.speak(facts);
  const store = await openStore(facts);
  const kept = await store.all().catch(() => /** @type {Entry[]} */ ([]));
  const root = /** @type {HTMLElement} */ (document.getElementById("app"));
  root.textContent = "";
  render(<App facts={facts} store={store} kept={kept} />, root);
  document.documentElement.dataset.page = "shown";
  // Over a safe connection a page from the laptop is kept for the home screen; a file needs no keeping.
  if (location.protocol !== "file:" && window.isSecureContext) navigator.serviceWorker?.register("worker.js").catch(() => {});
};
if (document.getElementById("facts")) begin();

export { fileOf, progress, promised, rules, standing, tasksNow, visitsNow, words };
