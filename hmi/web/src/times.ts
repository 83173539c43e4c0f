// Times of day as this device's clock has them, written as ISO 8601 does.

const two = (value: number) => String(value).padStart(2, "0");

/** "14:53", or "2031-05-01 14:53" when it was another day. */
export function clock_time(utc: string): string {
  const time = new Date(utc);
  if (Number.isNaN(time.getTime())) return utc;
  const clock = `${two(time.getHours())}:${two(time.getMinutes())}`;
  if (time.toDateString() === new Date().toDateString()) return clock;
  return `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())} ${clock}`;
}
