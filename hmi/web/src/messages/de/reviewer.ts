import type { reviewer as english } from "../en/reviewer";
import type { Translated } from "../../messages";

export const reviewer = {
} as const satisfies Translated<typeof english>;
