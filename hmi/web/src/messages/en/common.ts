// What every part of the page shares: the frame, signing in, the press at a glance, refusals.
export const common = {
  // frame
  page_parts: "Parts of the page",
  part_press: "Press",
  part_jobs: "Jobs",
  part_workshop: "Workshop",
  part_find: "Find",
  part_quarantine: "Quarantine",
  part_people: "People",
  some_waiting: ", {count} waiting",
  unit_of_length: "Unit of length on this device",
  language_of_page: "Language of this device: change to {language}",
  sign_out: "Sign out",
  cautions: "Cautions",
  station: "Station",
  no_picture: "No picture.",
  no_picture_yet: "The station has not answered yet. Trying again.",
  old_picture: "Old picture.",
  old_picture_since: "The station has been silent for {seconds} s. Do not rely on what is shown. Trying again.",
  first_picture_awaited: "Waiting for the station's first picture.",
  go_back: "Go back",
} as const;
