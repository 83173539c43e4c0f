// The live picture: one server-sent event stream, a watchdog that says within a second when it has gone quiet, and
// the samples of the bite now running. Times here are of this device's monotonic clock, in ms.
import { useEffect, useState } from "preact/hooks";
import type { EnvelopePoint, SampleRow, Station, StationEvent } from "./api";

/** Longest silence before the picture counts as old: seen within a second, with what a busy device takes to draw it. The
 *  station gives a sign of life every 300 ms at the latest. */
const silence_ms_max = 800;
/** Longest silence before the line is given up and dialled again. */
const redial_after_ms = 3000;

/** The bite that the live samples were pressed in: afterwards the station already tells the envelope of the next one. */
export interface SamplesOwner {
  serial: string;
  pass: number;
  envelope: readonly EnvelopePoint[];
}

export interface LivePicture {
  station: Station | null;
  stale: boolean;
  silent_ms: number;      ///< since the last event; grows while stale
  samples_bite: number;
  samples_changed: number; ///< counts changes of live_samples
  samples_of: SamplesOwner | null; ///< null when the bite began before this page looked
}

/** Rows of the bite now running or last finished; changed in place, watched through samples_changed. */
export const live_samples: SampleRow[] = [];

let picture: LivePicture = { station: null, stale: true, silent_ms: 0, samples_bite: -1, samples_changed: 0, samples_of: null };
let last_event_at = performance.now();
let dialled_at = 0;
let source: EventSource | null = null;
const watchers = new Set<(picture: LivePicture) => void>();

function publish(next: LivePicture) {
  picture = next;
  for (const watcher of watchers) watcher(picture);
}

function take_samples(event: StationEvent): { bite: number; changed: boolean } {
  const samples = event.samples;
  if (samples === undefined) return { bite: picture.samples_bite, changed: false };
  const other_bite = samples.bite !== picture.samples_bite;
  if (other_bite) live_samples.length = 0;
  if (samples.rows.length > 0 && samples.from < live_samples.length) live_samples.length = samples.from;
  live_samples.push(...samples.rows);
  return { bite: samples.bite, changed: other_bite || samples.rows.length > 0 };
}

/** While a bite runs its samples belong to the fitting at the press; later they keep their owner. */
function owner_of_samples(event: StationEvent, bite: number): SamplesOwner | null {
  const active = event.active;
  if (active?.stage === "biting" && live_samples.length > 0) {
    return { serial: active.serial, pass: active.pass, envelope: active.envelope };
  }
  return bite === picture.samples_bite ? picture.samples_of : null;
}

function on_station(message: MessageEvent<string>) {
  let event: StationEvent;
  try {
    event = JSON.parse(message.data) as StationEvent;
  } catch {
    return; // an event that cannot be read is no sign of life; the watchdog speaks
  }
  last_event_at = performance.now();
  const taken = take_samples(event);
  publish({
    station: event,
    stale: false,
    silent_ms: 0,
    samples_bite: taken.bite,
    samples_changed: picture.samples_changed + (taken.changed ? 1 : 0),
    samples_of: owner_of_samples(event, taken.bite),
  });
}

function dial() {
  source?.close();
  dialled_at = performance.now();
  source = new EventSource("/api/v1/events");
  source.addEventListener("station", on_station as EventListener);
  source.onerror = () => {
    // The line broke: say so at once, without waiting for the watchdog.
    if (!picture.stale) publish({ ...picture, stale: true, silent_ms: performance.now() - last_event_at });
  };
}

function watch() {
  const now = performance.now();
  const silent_ms = now - last_event_at;
  if (silent_ms > silence_ms_max) publish({ ...picture, stale: true, silent_ms });
  if (silent_ms > redial_after_ms && now - dialled_at > redial_after_ms) dial();
}

/** Dials again as whoever is signed in by now: the station knows a stream by the session it was opened with. */
export function redial() {
  if (source !== null) dial();
}

/** Starts the stream once; further calls do nothing. */
export function start_live() {
  if (source !== null) return;
  dial();
  setInterval(watch, 50);
}

/** Whether the picture is old; draws again only when that changes. */
export function useStale(): boolean {
  const [stale, setStale] = useState(picture.stale);
  useEffect(() => {
    const follow = (next: LivePicture) => setStale(next.stale);
    watchers.add(follow);
    follow(picture);
    return () => { watchers.delete(follow); };
  }, []);
  return stale;
}

export function useLive(): LivePicture {
  const [seen, setSeen] = useState(picture);
  useEffect(() => {
    watchers.add(setSeen);
    setSeen(picture);
    return () => { watchers.delete(setSeen); };
  }, []);
  return seen;
}
