// The events and kinds of the record's entries in words; a name this page does not know is told as it stands.
import { sentence, words } from "./kinds";
import { t, type MessageKey } from "./messages";

const known_events = [
  "admit", "rope_diameter", "shank_diameter", "bore_depth", "depth_mark", "boundary_mark", "insertion", "position", "turn", "reseated", "permit",
  "permit_durable", "permit_refused", "permit_ended", "bite_started", "bite_finished", "link_lost", "restarted", "unasked_bite", "withdraw", "put_aside",
  "resume", "hold", "across_flats", "go_gauge", "no_go_gauge", "growth", "straightness", "slip", "surface", "judge", "release", "dispose", "quarantined",
  "quarantine_lifted", "proof_load", "corrected",
] as const;
const known_kinds = ["evidence", "finding", "verdict", "refused", "correction"] as const;

export function event_words(event: string): string {
  const known = known_events.find((name) => name === event);
  return known === undefined ? sentence(event) : t(`reviewer.event_${known}` as MessageKey as "reviewer.event_admit");
}

export function kind_words(kind: string): string {
  const known = known_kinds.find((name) => name === kind);
  return known === undefined ? words(kind) : t(`reviewer.kind_${known}` as MessageKey as "reviewer.kind_evidence");
}
