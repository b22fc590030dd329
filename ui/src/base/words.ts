/** Words on the elements: bundled English and German, overridden by what the page embeds. */
import de from "../words.de.json";
import en from "../words.en.json";

type Table = Record<string, string>;
let table: Table | null = null;

function load(): Table {
  const language = document.documentElement.lang.slice(0, 2);
  const out: Table = { ...(en as Table), ...(language === "de" ? (de as Table) : {}) };
  const given = document.getElementById("pw-words")?.textContent;
  if (given) {
    try {
      for (const [k, v] of Object.entries(JSON.parse(given) as Table))
        if (typeof v === "string") out[k] = v;
    } catch {
      /* a broken block must not take the page down; the bundled words stay */
    }
  }
  return out;
}

/** The text under `key`, with `{name}` filled in; the key itself where no text is known. */
export function t(key: string, values: Record<string, string | number> = {}): string {
  table ??= load();
  return (table[key] ?? key).replace(/\{(\w+)\}/g, (whole, name: string) =>
    name in values ? String(values[name]) : whole,
  );
}

/** Language of the page, for dates and decimal marks. */
export function language(): string {
  return document.documentElement.lang || "en";
}

/** Language for writing dates: plain "en" writes the day before the month, as the papers do. */
export function dateLanguage(): string {
  const l = language();
  return l === "en" ? "en-GB" : l;
}
