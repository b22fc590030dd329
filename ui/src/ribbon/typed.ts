/** What somebody typed in the page's own form for a reading before the ribbon came with its own. */
import { changed } from "../base/page";

export interface Typed {
  temperature: string;
  at: string;
  /** Day as `2027-03-19`; empty where it was left as it came. */
  date: string;
  /** The field that somebody is in. */
  focus: string;
}

/** What stands typed in the plain form of the page; null where there is nothing to take up. */
export function typedBefore(): Typed | null {
  const form = document.querySelector('form[action$="/readings"] .typed');
  if (!form) return null;
  const said = (name: string): string => {
    const field = form.querySelector<HTMLInputElement>(`input[name="${name}"]`);
    return field && changed(field) ? field.value : "";
  };
  const focus = form.querySelector(":focus")?.getAttribute("name") ?? "";
  const typed = { temperature: said("temperature"), at: said("at"), date: said("date"), focus };
  return Object.values(typed).some(Boolean) ? typed : null;
}

/** Whole days from the midnight `first` to the day `date`, both local. */
export function daysTo(first: string, date: string): number {
  const day = (text: string): number => Date.UTC(+text.slice(0, 4), +text.slice(5, 7) - 1, +text.slice(8, 10));
  return Math.round((day(date) - day(first)) / 86_400_000);
}
