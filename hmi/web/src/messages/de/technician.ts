import type { technician as english } from "../en/technician";
import type { Translated } from "../../messages";

export const technician = {
} as const satisfies Translated<typeof english>;
