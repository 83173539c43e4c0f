// Where the page is, kept in the address after "#" so that going back, reloading and links work: #/view, then whatever
// that view keeps there (#/workshop/calibration/C-12 is the view "workshop" with the path ["calibration", "C-12"]).
import { useEffect, useState } from "preact/hooks";

const views = ["press", "jobs", "workshop", "find", "quarantine", "people"] as const;
export type View = (typeof views)[number];
export type Route = { view: View; path?: readonly string[] } | { view: "fitting"; serial: string };

function decoded(part: string): string | null {
  try {
    return decodeURIComponent(part);
  } catch {
    return null; // a broken address
  }
}

export function read_route(hash: string): Route {
  const [first = "", ...rest] = hash.replace(/^#\/?/, "").split("/").filter((part) => part !== "").map(decoded);
  const path = rest.filter((part) => part !== null);
  if (first === "fitting") return path[0] === undefined ? { view: "find" } : { view: "fitting", serial: path[0] };
  const view = views.find((known) => known === first);
  return view === undefined ? { view: "press" } : { view, path };
}

export function address_of(route: Route): string {
  const path = route.view === "fitting" ? [route.serial] : route.path ?? [];
  return ["#", route.view, ...path.map(encodeURIComponent)].join("/");
}

export function go_to(route: Route) {
  location.hash = address_of(route);
}

export function useRoute(): Route {
  const [route, setRoute] = useState(() => read_route(location.hash));
  useEffect(() => {
    const follow = () => setRoute(read_route(location.hash));
    addEventListener("hashchange", follow);
    return () => removeEventListener("hashchange", follow);
  }, []);
  return route;
}
