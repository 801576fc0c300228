/** Small pieces that the screens share. */
import { createContext } from "preact";
import { useContext } from "preact/hooks";
import { day, said, t } from "./words.js";
/** @import { Entry, Facts } from "./types.d.ts" */
/** @import { State } from "./log.js" */

/**
 * @typedef {object} Hand what every screen holds
 * @property {Facts} facts
 * @property {State} state
 * @property {Entry[]} own entries of this device
 * @property {number} now
 * @property {boolean} keeps
 * @property {() => Promise<import("./store.js").Elsewhere[]>} elsewhere
 * @property {(...entries: {kind: string, [field: string]: any}[]) => Promise<boolean>} add
 * @property {(entries: Entry[]) => Promise<boolean>} put entries that have their identifiers
 * @property {(screen: string) => void} go
 * @property {(species: string) => string} nameOf
 * @property {Map<string, Uint8Array>} tables
 */
export const HandContext = createContext(/** @type {Hand} */ (/** @type {unknown} */ (null)));
export const useHand = () => useContext(HandContext);

/** One of a few, by a tap. @param {{label: string, options: (string | number)[], value: string | number, pick: (value: any) => void, words?: (value: any) => string}} props */
export const Choice = ({ label, options, value, pick, words = said }) => (
  <fieldset class="choice">
    <legend>{label}</legend>
    {options.map((option) => (
      <button type="button" key={option} aria-pressed={option === value} onClick={() => pick(option)}>{words(option)}</button>
    ))}
  </fieldset>
);

/** @param {{label: string, type?: string, value: string, put: (value: string) => void, [more: string]: any}} props */
export const Field = ({ label, put, ...input }) => (
  <label class="field">
    <span>{label}</span>
    <input {.../** @type {object} */ (input)} onInput={(event) => put(event.currentTarget.value)} />
  </label>
);

/** A batch by its species and what tells it from others. @param {import("./types.d.ts").Batch | undefined} batch @param {(species: string) => string} nameOf */
export const batchName = (batch, nameOf) => (batch ? `${nameOf(batch.species)} · ${markOf(batch)}` : "");

/** What tells a batch from others of its species. @param {import("./types.d.ts").Batch} batch */
export const markOf = (batch) => batch.name || (batch.ref.startsWith("@") ? t("begunOn", { day: day(batch.started) }) : batch.ref);

/** A name, its direction kept to itself. @param {{children: any}} props */
export const Name = ({ children }) => <bdi class="name">{children}</bdi>;

/** Cautions of one species; those that hold for all seed stand once on a screen. @param {{of: string}} props */
export const Cautions = ({ of }) => {
  const { facts } = useHand();
  return <Warned items={cautionsOf(facts, of).filter((item) => !facts.cautions.includes(item))} />;
};

/** Cautions that hold for all seed, where any of these species has them. @param {{of: string[]}} props */
export const CautionsForAll = ({ of }) => {
  const { facts } = useHand();
  return <Warned items={facts.cautions.filter((item) => of.some((name) => cautionsOf(facts, name).includes(item)))} />;
};

/** @param {Facts} facts @param {string} name */
export const cautionsOf = (facts, name) => facts.species.find((one) => one.name === name || one.latin === name)?.cautions ?? facts.others[name]?.cautions ?? [];

/** @param {{items: string[]}} props */
const Warned = ({ items }) =>
  items.length ? (
    <div class="cautions" role="note"><b>{t("cautions")}: </b><ul>{items.map((item) => <li key={item}>{item}</li>)}</ul></div>
  ) : null;
