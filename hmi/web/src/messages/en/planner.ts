export const planner = {
} as const;
