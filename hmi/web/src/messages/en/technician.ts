export const technician = {
} as const;
