/** What `chillplan/web/facts.py` embeds, and what the grower enters. Days are whole numbers since 1970. */
export type Phase = {
  kind: "warm" | "cold";
  days: [number, number];
  response: [number, number, number, number];
  reversal: number | null;
  reversal_loss: number;
};
export type Species = {
  name: string; latin: string; common: string; plain: string; lot: number | null; lotName: string; coldDone: number; verdict: string; words: string; reason: string; when: string;
  cautions: string[]; depth: string; ways: string[]; killed: boolean; limit: string; coatDays: number; recipe: string;
  phases: Phase[]; good: number; winters: number; shareUp: { p10: number; p50: number; p90: number };
  sow: [string, string] | null; plantOut: string | null; sown: string; planted: string;
};
export type Task = {
  key: string; species: number; from: string; to: string; text: string; place: string; minutes: number;
};
export type Batch = {
  ref: string; species: string; name: string; started: string; phases: Phase[]; place: string; set: number;
  seeds: number | null; plantOut: string | null; looked: string | null; finding: string | null; every: number;
};
export type Sowing = {
  ref: string; species: string; sown: string; seeds: number; bed: string;
  expected: [number, number, number] | null; up: number | null;
};
export type Lot = { [column: string]: string };
export type Entry = { id: string; at: string; kind: string; [field: string]: any };
export type Facts = {
  schema: number; site: string; season: number; start: string; made: string; units: string; dates: string;
  accept: number; target: number; invented: boolean; lookingDay: number; step: number; shares: number;
  winters: number[]; frost: { [limit: string]: number[] }; species: Species[]; tasks: Task[];
  hill: { first: string; light: [string, string][]; closed: number[] };
  crew: { weekdays: number[]; away: string[] }; visits: string[]; lots: Lot[]; filed: boolean; states: string[]; ways: string[];
  care: { [finding: string]: string[] };
  cautions: string[]; others: { [species: string]: { common: string; cautions: string[] } };
  refs: { [id: string]: string }; batches: Batch[]; places: { [place: string]: { [day: string]: number } }; sowings: Sowing[]; entries: Entry[]; done: string[];
};
