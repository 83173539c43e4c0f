import { useEffect, useState } from "preact/hooks";
import type { RefObject } from "preact";

/** Width and height of an element in CSS pixels, followed as it changes. */
export function useSize(element: RefObject<HTMLElement>): { width: number; height: number } {
  const [size, setSize] = useState({ width: 0, height: 0 });
  useEffect(() => {
    const target = element.current;
    if (target === null) return;
    const observer = new ResizeObserver(() => setSize({ width: target.clientWidth, height: target.clientHeight }));
    observer.observe(target);
    return () => observer.disconnect();
  }, []);
  return size;
}
