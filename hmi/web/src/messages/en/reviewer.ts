export const reviewer = {
} as const;
