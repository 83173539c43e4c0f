import type { common as english } from "../en/common";
import type { Translated } from "../../messages";

export const common = {
  // Rahmen
  page_parts: "Teile der Seite",
  part_press: "Presse",
  part_jobs: "Aufträge",
  part_workshop: "Werkstatt",
  part_find: "Suchen",
  part_quarantine: "Sperren",
  part_people: "Personen",
  some_waiting: ", {count} warten",
  unit_of_length: "Längeneinheit auf diesem Gerät",
  language_of_page: "Sprache dieses Geräts: zu {language} wechseln",
  sign_out: "Abmelden",
  cautions: "Warnhinweise",
  station: "Station",
  no_picture: "Kein Bild.",
  no_picture_yet: "Die Station hat noch nicht geantwortet. Neuer Versuch läuft.",
  old_picture: "Altes Bild.",
  old_picture_since: "Die Station schweigt seit {seconds} s. Nicht auf das Gezeigte verlassen. Neuer Versuch läuft.",
  first_picture_awaited: "Warten auf das erste Bild der Station.",
  go_back: "Zurück",
} as const satisfies Translated<typeof english>;
