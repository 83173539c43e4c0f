// Who is signed in at this device, and the shop's register as the station gives it: shared by every part of the page.
import { createContext } from "preact";
import { useCallback, useContext, useEffect, useMemo, useState } from "preact/hooks";
import type { ComponentChildren } from "preact";
import { api, type Library, type Outcome, type Person } from "./api";

interface Desk {
  person: Person | null;
  library: Library | null;
  library_missing: boolean;           ///< the station did not give its register; asked again every few seconds
  sign_in: (id: string) => Promise<Outcome<unknown>>;
  sign_out: () => Promise<void>;
  took_answer: (outcome: Outcome<unknown>) => void; ///< notices a session that has ended
}

const DeskContext = createContext<Desk | null>(null);

export function useDesk(): Desk {
  const desk = useContext(DeskContext);
  if (desk === null) throw new Error("useDesk outside its provider");
  return desk;
}

export function DeskProvider({ children }: { children: ComponentChildren }) {
  const [person, setPerson] = useState<Person | null>(null);
  const [library, setLibrary] = useState<Library | null>(null);
  const [missing, setMissing] = useState(false);
  const [asked, setAsked] = useState(0);

  useEffect(() => {
    void api.who().then((outcome) => { if (outcome.kind === "taken") setPerson(outcome.body.person); });
  }, []);
  useEffect(() => {
    let again: ReturnType<typeof setTimeout> | undefined;
    let wanted = true;
    void api.library().then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") {
        setLibrary(outcome.body);
        setMissing(false);
      } else {
        setMissing(true);
        again = setTimeout(() => setAsked((count) => count + 1), 3000);
      }
    });
    return () => { wanted = false; clearTimeout(again); };
  }, [asked]);

  const sign_in = useCallback(async (id: string) => {
    const outcome = await api.sign_in(id);
    if (outcome.kind === "taken") setPerson(outcome.body.person);
    return outcome;
  }, []);
  const sign_out = useCallback(async () => {
    await api.sign_out();
    setPerson(null);
  }, []);
  const took_answer = useCallback((outcome: Outcome<unknown>) => {
    if (outcome.kind === "signed_out") setPerson(null);
  }, []);

  const desk = useMemo<Desk>(
    () => ({ person, library, library_missing: missing, sign_in, sign_out, took_answer }),
    [person, library, missing, sign_in, sign_out, took_answer],
  );
  return <DeskContext.Provider value={desk}>{children}</DeskContext.Provider>;
}
