/** Entries on the device: each is on the disk before the page says that it is kept. */
import { openDB } from "idb";
/** @import { Entry, Facts } from "./types.d.ts" */

const STORE = "entries";
const OWN = /^chillplan (.*) (\d+)$/s;

/** @typedef {{site: string, season: number, entries: Entry[]}} Elsewhere what a page of another site or season left on this device */

/** @param {Facts} facts */
export const openStore = async (facts) => {
  const name = `chillplan ${facts.site} ${facts.season}`;
  /** @type {import("idb").IDBPDatabase | null} */
  let database = null;
  try {
    database = await openDB(name, 1, {
      upgrade: (made) => { made.createObjectStore(STORE, { keyPath: "id" }); },
    });
  } catch {
    database = null;
  }
  const lasting = database !== null && (await navigator.storage?.persist?.().catch(() => false)) === true;
  return {
    keeps: database !== null,
    lasting,
    /** @returns {Promise<Entry[]>} */
    all: async () => (database ? await database.getAll(STORE) : []),
    /** @returns {Promise<Elsewhere[]>} */
    elsewhere: async () => {
      const found = [];
      for (const other of (await indexedDB.databases?.()) ?? []) {
        const named = OWN.exec(other.name ?? "");
        if (!named || other.name === name) continue;
        const opened = await openDB(String(other.name));
        found.push({ site: named[1], season: Number(named[2]), entries: await opened.getAll(STORE) });
        opened.close();
      }
      return found;
    },
    /** All of the entries or none. @param {Entry[]} entries */
    add: async (entries) => {
      if (!database) return false;
      const writing = database.transaction(STORE, "readwrite", { durability: "strict" });
      for (const entry of entries) writing.store.put(entry);
      await writing.done;
      return true;
    },
  };
};

/** An identifier that no other device makes. */
export const identifier = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) => byte.toString(16).padStart(2, "0")).join("");
