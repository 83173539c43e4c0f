// The frame around everything: who is signed in, where the page is, the press, the cautions.
import { useEffect, useState } from "preact/hooks";
import { api, type Fitting } from "./api";
import { ControlBar, held_elsewhere } from "./control";
import { FindView } from "./find";
import { FittingPage } from "./fitting_page";
import { FittingView } from "./fitting_view";
import { TroubleBox, type Trouble } from "./findings";
import { start_live, useLive, type LivePicture } from "./live";
import { People } from "./people";
import { Header } from "./header";
import { Jobs } from "./jobs";
import { t, useLanguage } from "./messages";
import { Notices } from "./notices";
import { PressStrip } from "./press_strip";
import { Quarantine } from "./quarantine";
import { useRoute, type Route } from "./routes";
import { DeskProvider, useDesk } from "./session";
import { SignIn } from "./sign_in";
import { Sign } from "./signs";
import { StartFitting } from "./start_fitting";
import { caution_words } from "./station_words";
import { fixed } from "./units";
import { Waiting } from "./waiting";
import { Workshop } from "./workshop";

export function App() {
  useEffect(start_live, []);
  return <DeskProvider><Frame /></DeskProvider>;
}

function Frame() {
  const picture = useLive();
  const route = useRoute();
  useLanguage(); // everything below is drawn again in the other language
  const station = picture.station;
  return (
    <div class={`frame view-${route.view}`} data-version={station?.snapshot_version}>
      <Header station={station} route={route} />
      {station !== null && <ControlBar station={station} />}
      {station === null && picture.stale && (
        <p class="strip-old sticky" role="alert"><Sign meaning="abnormal" /><span><b>{t("common.no_picture")}</b> {t("common.no_picture_yet")}</span></p>
      )}
      {station !== null && picture.stale && (
        <p class="strip-old sticky" role="alert" data-stale>
          <Sign meaning="abnormal" />
          <span><b>{t("common.old_picture")}</b> {t("common.old_picture_since", { seconds: fixed(Math.floor(picture.silent_ms / 1000), 0) })}</span>
        </p>
      )}
      <Notices notices={station?.notices ?? []} />
      <Body picture={picture} route={route} />
      <footer class="cautions" aria-label={t("common.cautions")}>
        {station?.cautions.map((caution) => <p key={caution}>{caution_words(caution)}</p>)}
      </footer>
    </div>
  );
}

/** The fitting at the press; when it has left the press, as it then stands, so that its verdict stays in view until the
 *  operator goes on. `waiting` changes when a fitting comes to wait or is decided. */
function useKept(active: Fitting | null, waiting: string): Fitting | null {
  const [kept, setKept] = useState<Fitting | null>(active);
  useEffect(() => {
    if (active !== null) {
      setKept(active);
      return;
    }
    if (kept === null) return;
    let wanted = true;
    void api.fitting(kept.serial).then((outcome) => {
      if (!wanted || outcome.kind !== "taken") return;
      setKept(outcome.body.fitting);
    });
    return () => { wanted = false; };
  }, [active, waiting]);
  return active ?? kept;
}

function Body({ picture, route }: { picture: LivePicture; route: Route }) {
  const desk = useDesk();
  const [press_trouble, setPressTrouble] = useState<Trouble | null>(null);
  const [left_behind, setLeftBehind] = useState<string | null>(null);
  const station = picture.station;
  useEffect(() => setPressTrouble(null), [station?.press.phase, station?.press.fault_code]);
  const waiting = station === null ? "" : [...station.held, "", ...station.set_aside].join(" ");
  const kept = useKept(station?.active ?? null, waiting);
  if (route.view === "find") return <FindView path={route.path ?? []} />;
  if (route.view === "people") return <People cautions={station?.cautions ?? []} />;
  if (route.view === "jobs") return <Jobs path={route.path ?? []} />;
  if (route.view === "workshop") return <Workshop path={route.path ?? []} picture={picture} />;
  if (route.view === "quarantine") return <Quarantine cautions={station?.cautions ?? []} />;
  if (route.view === "fitting") return <FittingPage key={route.serial} serial={route.serial} picture={picture} />;

  // Put aside means the press is free for another; what has ended or is held stays in view until the operator goes on.
  const driver = station === null ? null : held_elsewhere(station);
  const driven_by = driver === null ? "" : driver.name === "" ? driver.person : driver.name;
  const at_rest = kept !== null && ["hold", "released", "scrapped"].includes(kept.stage);
  const worker = desk.person ?? desk.left;
  const shown = kept === null || kept.stage === "aside" || (at_rest && kept.serial === left_behind) ? null : kept;
  return (
    <>
      {station !== null && (
        <PressStrip press={station.press} stale={picture.stale} signed_in={desk.person !== null}
          fitting_open={station.active !== null} step={shown?.next.code ?? ""}
          onAnswer={(outcome) => { desk.took_answer(outcome); setPressTrouble(outcome.kind === "taken" ? null : outcome); }} />
      )}
      <TroubleBox trouble={press_trouble} />
      {desk.person === null && <SignIn cautions={station?.cautions ?? []} />}
      {worker !== null && (
        // What somebody had begun when their session ended waits here for them; it is never handed to somebody else.
        <div class="keeper" key={worker.id} hidden={desk.person === null}>
          {station === null ? (
            <main class="card"><p class="hint">{t("common.first_picture_awaited")}</p></main>
          ) : shown !== null ? (
            <FittingView fitting={shown} press={station.press} stale={picture.stale} samples_changed={picture.samples_changed} samples_of={picture.samples_of}
              driven_by={station.active?.serial === shown.serial ? driven_by : ""} onStartAnother={() => setLeftBehind(shown.serial)} />
          ) : (
            <main class="idle">
              <StartFitting driven_by={driven_by} onStarted={() => setLeftBehind(null)} />
              <Waiting set_aside={station.set_aside} held={station.held} />
            </main>
          )}
        </div>
      )}
    </>
  );
}
