import { readdirSync, readFileSync, statSync } from "node:fs";
import { expect, test } from "vitest";
import de from "../src/words.de.json";
import en from "../src/words.en.json";

const files = (dir: string): string[] =>
  readdirSync(dir).flatMap((f) => (statSync(`${dir}/${f}`).isDirectory() ? files(`${dir}/${f}`) : [`${dir}/${f}`]));
const source = files("src").filter((f) => f.endsWith(".ts")).map((f) => readFileSync(f, "utf8")).join("\n");
const braces = (s: string): string[] => [...s.matchAll(/\{(\w+)\}/g)].map((m) => m[1]).sort();

test("both languages have the same keys, with the same places to fill", () => {
  expect(Object.keys(de).sort()).toEqual(Object.keys(en).sort());
  for (const [k, text] of Object.entries(en)) expect(braces((de as Record<string, string>)[k]), k).toEqual(braces(text));
});

test("every key in the source has a text and every text is used", () => {
  const groups = [...new Set(Object.keys(en).filter((k) => k.includes(".")).map((k) => k.split(".")[0]))].join("|");
  const used = new Set([...source.matchAll(new RegExp(`"((?:${groups})\\.[a-z_0-9]+|undo|redo)"`, "g"))].map((m) => m[1]));
  for (const k of used) expect(en, k).toHaveProperty([k]);
  const stems = [...source.matchAll(new RegExp(`\`((?:${groups})\\.(?:\\w+_)?)\\$\\{`, "g"))].map((m) => m[1]).filter((s) => s !== "site."); // its measures are listed
  for (const k of ["round_over", "drop", "lip", "cove", "mask"]) used.add(`site.${k}`); // keys of the job file
  for (const k of Object.keys(en))
    expect(used.has(k) || stems.some((s) => k.startsWith(s)), `${k} is never shown`).toBe(true);
});
