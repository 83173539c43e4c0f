import type { planner as english } from "../en/planner";
import type { Translated } from "../../messages";

export const planner = {
} as const satisfies Translated<typeof english>;
