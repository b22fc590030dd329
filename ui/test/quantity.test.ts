import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { celsiusText, lengthShown, lengthText, readCelsius, readLength } from "../src/base/quantity";

interface Case { text: string; locale: string; metres: number | null }
const cases = JSON.parse(readFileSync("test/lengths.json", "utf8")) as Case[];

test.each(cases)("$text ($locale)", ({ text, locale, metres }) => {
  const got = readLength(text, { decimal: locale === "de" ? "," : "." });
  if (metres === null) expect(got).toBeNull();
  else expect(got).toBeCloseTo(metres, 12);
});

test("what is written reads back", () => {
  for (const mm of [0, 0.5, 6, 610, 1540.25, 2100, -35]) expect(readLength(lengthText(mm / 1e3, "metric"))).toBeCloseTo(mm / 1e3, 12);
  for (const n of [0, 1, 31, 64, 97, 1544]) expect(readLength(lengthText((n / 64) * 0.0254, "us"))).toBeCloseTo((n / 64) * 0.0254, 12);
});

test("inches are written as on a tape", () => {
  expect(lengthText(24.125 * 0.0254, "us")).toBe("24 1/8 in");
  expect(lengthText(0.5 * 0.0254, "us")).toBe("1/2 in");
  expect(lengthText(0, "us")).toBe("0 in");
  expect(lengthShown(0.61, "us")).toBe("24 1/32 in");
});

test("temperatures", () => {
  expect(readCelsius("17 °C")).toBe(17);
  expect(readCelsius("68 degF")).toBeCloseTo(20, 9);
  expect(readCelsius("−3 C")).toBe(-3);
  expect(readCelsius("17,5 °C", { decimal: "," })).toBe(17.5);
  expect(readCelsius("17,5 °C")).toBeNull();
  expect(readCelsius("17")).toBeNull();
  expect(readCelsius("17", { decimal: "." }, "C")).toBe(17);
  expect(readCelsius("400 C")).toBeNull();
  expect(readCelsius("warm")).toBeNull();
  expect(celsiusText(20, "us")).toBe("68 degF");
});
