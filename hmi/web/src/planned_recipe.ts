// The recipe that a planner's job wants, for whoever begins a fitting of one of its lines ("JOB/MARK") or of the whole job.
import { api } from "./api";

/** Null where no such job or line is on record, it is withdrawn, or it wants more than one recipe. */
export async function planned_recipe(job_text: string): Promise<string | null> {
  const outcome = await api.jobs();
  if (outcome.kind !== "taken") return null;
  const lines = outcome.body.jobs.filter((job) => !job.withdrawn)
    .flatMap((job) => job.lines.filter((line) => line.job_text === job_text || job.id === job_text));
  const wanted = new Set(lines.flatMap((line) => line.recipes));
  return wanted.size === 1 ? [...wanted][0] ?? null : null;
}
