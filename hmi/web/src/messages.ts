// Every text of the page, by area and key, in the language this device has chosen. A key or a placeholder that one
// language lacks is an error of the type checker, not an empty place on the screen.
//
//   t("common.sign_out")    t("operator.pass_of", { pass: 1, passes: 2 })    many(3, "common.one_try", "common.tries")
//
// Call them while drawing, never in a constant of a module: the language can change while the page is open.
import { useEffect, useState } from "preact/hooks";
import { recall, remember } from "./memory";
import { common as common_de } from "./messages/de/common";
import { operator as operator_de } from "./messages/de/operator";
import { people as people_de } from "./messages/de/people";
import { planner as planner_de } from "./messages/de/planner";
import { reviewer as reviewer_de } from "./messages/de/reviewer";
import { technician as technician_de } from "./messages/de/technician";
import { common } from "./messages/en/common";
import { operator } from "./messages/en/operator";
import { people } from "./messages/en/people";
import { planner } from "./messages/en/planner";
import { reviewer } from "./messages/en/reviewer";
import { technician } from "./messages/en/technician";

const english = { common, operator, technician, reviewer, planner, people };
const german = { people: people_de, common: common_de, operator: operator_de, technician: technician_de, reviewer: reviewer_de, planner: planner_de };

export const languages = [
  { id: "en", own_name: "English" },
  { id: "de", own_name: "Deutsch" },
] as const;
export type Language = (typeof languages)[number]["id"];

/** What another language must have: exactly English's keys. */
export type Translated<English> = { readonly [Key in keyof English]: string };

type English = typeof english;
type Area = keyof English;
export type MessageKey = { [A in Area]: `${A}.${keyof English[A] & string}` }[Area];
type TextOf<Key> = Key extends `${infer A extends Area}.${infer K}` ? (K extends keyof English[A] ? English[A][K] : never) : never;
type Placeholders<Text> = Text extends `${string}{${infer Name}}${infer Rest}` ? Name | Placeholders<Rest> : never;
type Values<Key> = [Placeholders<TextOf<Key>>] extends [never] ? [] : [values: Readonly<Record<Placeholders<TextOf<Key>>, string | number>>];

// A translation that drops a placeholder, or invents one, stops the build here and names its key.
type Astray<E, O> = {
  [K in keyof E & keyof O]: [Placeholders<E[K]>, Placeholders<O[K]>] extends [Placeholders<O[K]>, Placeholders<E[K]>] ? never : K;
}[keyof E & keyof O];
type AstrayInAnyArea<Other> = { [A in Area & keyof Other]: Astray<English[A], Other[A]> }[Area & keyof Other];
const german_is_whole: [AstrayInAnyArea<typeof german>] extends [never] ? true : AstrayInAnyArea<typeof german> = true;
void german_is_whole;

const texts: Readonly<Record<Language, Readonly<Record<Area, Readonly<Record<string, string>>>>>> = { en: english, de: german };

function first_language(): Language {
  const known = (id: string | null | undefined) => languages.find((language) => language.id === id)?.id;
  return known(recall("language")) ?? known(navigator.language.slice(0, 2)) ?? "en";
}

let chosen: Language = first_language();
const watchers = new Set<(language: Language) => void>();
document.documentElement.lang = chosen;

export function choose_language(language: Language) {
  chosen = language;
  remember("language", language);
  document.documentElement.lang = language;
  for (const watcher of watchers) watcher(language);
}

export function language_now(): Language {
  return chosen;
}

/** For the frame of the page: draws everything again when the language changes. */
export function useLanguage(): Language {
  const [language, setLanguage] = useState(chosen);
  useEffect(() => {
    watchers.add(setLanguage);
    return () => { watchers.delete(setLanguage); };
  }, []);
  return language;
}

/** The text with its placeholders filled. A placeholder without a value stays readable as it is. */
export function t<Key extends MessageKey>(key: Key, ...values: Values<Key>): string {
  const dot = key.indexOf(".");
  const text = texts[chosen][key.slice(0, dot) as Area][key.slice(dot + 1)] ?? key;
  const given = values[0] as Readonly<Record<string, string | number>> | undefined;
  return given === undefined ? text : text.replace(/\{(\w+)\}/g, (whole, name: string) => String(given[name] ?? whole));
}

/** Inside a sentence English writes a name small; German keeps its capital. */
export function lower_in_english(text: string): string {
  return chosen === "en" ? text.toLowerCase() : text;
}

/** One or several, each with its own sentence; {count} is filled in. Both languages here tell only these two apart. */
export function many<One extends MessageKey, Several extends MessageKey>(count: number, one: One, several: Several): string {
  return t((count === 1 ? one : several) as MessageKey, ...([{ count }] as unknown as Values<MessageKey>));
}
