export const operator = {
} as const;
