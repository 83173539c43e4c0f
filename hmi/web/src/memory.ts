// Small choices this device keeps: unit, last gauge of each kind, last job line. Never a reading, never a person.
// A browser that keeps nothing (private window, storage refused) still works.

const prefix = "shankwright.";

export function recall(key: string): string | null {
  try {
    return localStorage.getItem(prefix + key);
  } catch {
    return null;
  }
}

export function remember(key: string, value: string) {
  try {
    localStorage.setItem(prefix + key, value);
  } catch {
    // nothing is lost but the convenience
  }
}
