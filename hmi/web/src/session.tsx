// Who is signed in at this device, and the shop's register as the station gives it: shared by every part of the page.
import { createContext } from "preact";
import { useCallback, useContext, useEffect, useMemo, useState } from "preact/hooks";
import type { ComponentChildren } from "preact";
import { redial, useStale } from "./live";
import { api, type Library, type Outcome, type Person } from "./api";

interface Desk {
  person: Person | null;
  left: Person | null;                ///< whose session has ended without their doing: their work waits on this page
  setting_pin: Person | null;         ///< signed in by a one-time code, and must now choose a PIN
  library: Library | null;
  library_missing: boolean;           ///< the station did not give its register; asked again every few seconds
  sign_in: (id: string, secret: { pin: string } | { code: string }) => Promise<Outcome<unknown>>;
  set_pin: (pin: string) => Promise<Outcome<unknown>>;
  read_again: () => void;             ///< asks for the register once more
  sign_out: () => Promise<void>;
  end_shift: () => Promise<Outcome<unknown>>;  ///< then signed out
  shift_ended: { name: string; at_utc: string } | null; ///< by whom at this device, until somebody signs in
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
  const [left, setLeft] = useState<Person | null>(null);
  const [setting_pin, setSettingPin] = useState<Person | null>(null);
  const [library, setLibrary] = useState<Library | null>(null);
  const [missing, setMissing] = useState(false);
  const [asked, setAsked] = useState(0);

  const [shift_ended, setShiftEnded] = useState<{ name: string; at_utc: string } | null>(null);

  const took_session = useCallback((session: { person: Person; must_set_pin: boolean }) => {
    setPerson(session.must_set_pin ? null : session.person);
    setSettingPin(session.must_set_pin ? session.person : null);
    if (!session.must_set_pin) setLeft(null);
    setShiftEnded(null);
    redial();
  }, []);
  useEffect(() => {
    void api.who().then((outcome) => { if (outcome.kind === "taken") took_session(outcome.body); });
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

  const sign_in = useCallback(async (id: string, secret: { pin: string } | { code: string }) => {
    const outcome = await api.sign_in(id, secret);
    if (outcome.kind === "taken") took_session(outcome.body);
    return outcome;
  }, []);
  const set_pin = useCallback(async (pin: string) => {
    const outcome = await api.set_pin(pin);
    if (outcome.kind === "taken") took_session(outcome.body);
    return outcome;
  }, []);
  const sign_out = useCallback(async () => {
    await api.sign_out();
    setPerson(null);
    setLeft(null);
    setSettingPin(null);
    redial();
  }, []);
  const end_shift = useCallback(async () => {
    const outcome = await api.end_shift();
    if (outcome.kind === "taken") {
      setShiftEnded({ name: person?.name ?? "", at_utc: new Date().toISOString() });
      await sign_out();
    }
    return outcome;
  }, [person, sign_out]);
  const took_answer = useCallback((outcome: Outcome<unknown>) => {
    if (outcome.kind !== "signed_out") return;
    redial();
    setPerson((before) => {
      if (before !== null) setLeft(before);
      return null;
    });
  }, []);
  // A station that was silent may have started anew and forgotten who was here: asked at once, not at the next act.
  const stale = useStale();
  useEffect(() => {
    if (stale || person === null) return;
    void api.who().then(took_answer);
  }, [stale]);
  const read_again = useCallback(() => setAsked((count) => count + 1), []);

  const desk = useMemo<Desk>(
    () => ({ person, left, setting_pin, library, library_missing: missing, sign_in, set_pin, sign_out, end_shift, shift_ended, took_answer, read_again }),
    [person, left, setting_pin, library, missing, sign_in, set_pin, sign_out, end_shift, shift_ended, took_answer, read_again],
  );
  return <DeskContext.Provider value={desk}>{children}</DeskContext.Provider>;
}
