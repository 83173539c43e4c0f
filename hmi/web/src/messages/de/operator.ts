import type { operator as english } from "../en/operator";
import type { Translated } from "../../messages";

export const operator = {
} as const satisfies Translated<typeof english>;
