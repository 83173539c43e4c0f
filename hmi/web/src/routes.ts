// Where the page is, kept in the address after "#" so that going back, reloading and links work.
import { useEffect, useState } from "preact/hooks";

export type Route = { view: "press" } | { view: "find" } | { view: "people" } | { view: "quarantine" } | { view: "fitting"; serial: string };

export function read_route(hash: string): Route {
  const parts = hash.replace(/^#\/?/, "").split("/");
  if (parts[0] === "find") return { view: "find" };
  if (parts[0] === "people") return { view: "people" };
  if (parts[0] === "quarantine") return { view: "quarantine" };
  if (parts[0] === "fitting" && parts[1] !== undefined && parts[1] !== "") {
    try {
      return { view: "fitting", serial: decodeURIComponent(parts[1]) };
    } catch {
      return { view: "find" }; // a broken address
    }
  }
  return { view: "press" };
}

export function address_of(route: Route): string {
  return route.view === "fitting" ? `#/fitting/${encodeURIComponent(route.serial)}` : `#/${route.view}`;
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
