// The planner's part: every job on record, one of them with its cut list, parts and progress, and its form.
import { useEffect, useState } from "preact/hooks";
import { api, type ListedJob, type WholeJob } from "./api";
import { local_time } from "./find";
import { TroubleBox, type Trouble } from "./findings";
import { t } from "./messages";
import { JobForm } from "./plan_form";
import { ProgressBar } from "./plan_progress";
import { JobView } from "./plan_view";
import { address_of, go_to } from "./routes";
import { useDesk } from "./session";
import { SignIn } from "./sign_in";

/** "new" cannot be a job's address: the list and a job's own page are reached by other words. */
export function Jobs({ path }: { path: readonly string[] }) {
  const desk = useDesk();
  const [first = "", second = ""] = path;
  const planner = desk.person?.roles.includes("planner") ?? false;
  if (first === "") return <JobList planner={planner} />;
  if (first === "new" && second === "") {
    if (desk.person === null) return <SignIn cautions={[]} />;
    return planner ? <JobForm before={null} onKept={(job) => go_to({ view: "jobs", path: ["of", job.job.id] })} /> : <p class="card hint">{t("planner.planner_wanted")}</p>;
  }
  if (first === "of" && second !== "") return <OneJob key={second} id={second} planner={planner} changing={path[2] === "change"} />;
  return <JobList planner={planner} />;
}

function JobList({ planner }: { planner: boolean }) {
  const [jobs, setJobs] = useState<ListedJob[] | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => {
    let wanted = true;
    void api.jobs().then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") setJobs(outcome.body.jobs);
      else setTrouble(outcome);
    });
    return () => { wanted = false; };
  }, []);
  return (
    <main class="card jobs">
      <div class="found-line">
        <h2>{t("common.part_jobs")}</h2>
        {planner && <a class="button primary" href={address_of({ view: "jobs", path: ["new"] })}>{t("planner.new_job")}</a>}
      </div>
      <TroubleBox trouble={trouble} />
      {jobs === null && trouble === null && <p class="hint" role="status">{t("planner.asking")}</p>}
      {jobs?.length === 0 && <p class="hint">{t("planner.no_jobs")}</p>}
      <ul class="job-list">
        {jobs?.map((job) => (
          <li key={job.id} class={job.withdrawn ? "withdrawn" : ""} data-job={job.id}>
            <a href={address_of({ view: "jobs", path: ["of", job.id] })}>
              <b>{job.id}</b>
              <span>{job.title}</span>
            </a>
            <p class="hint">{t("planner.entered", { by: job.entered_by, at: local_time(job.entered_utc) })}</p>
            {job.withdrawn ? <p>{t("planner.withdrawn_because", { reason: job.reason })}</p>
              : job.progress === null ? <p>{t("planner.library_lacks")}</p>
                : <ProgressBar tally={job.progress} label={t("planner.progress_of", { job: job.id })} />}
          </li>
        ))}
      </ul>
    </main>
  );
}

function OneJob({ id, planner, changing }: { id: string; planner: boolean; changing: boolean }) {
  const [job, setJob] = useState<WholeJob | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => {
    let wanted = true;
    void api.job(id).then((outcome) => {
      if (!wanted) return;
      if (outcome.kind === "taken") setJob(outcome.body);
      else setTrouble(outcome);
    });
    return () => { wanted = false; };
  }, [id]);
  if (job !== null && changing && planner && !job.job.withdrawn)
    return <JobForm before={job} onKept={(kept) => { setJob(kept); go_to({ view: "jobs", path: ["of", id] }); }} />;
  return (
    <main class="jobs">
      {trouble !== null && <section class="card"><TroubleBox trouble={trouble} /></section>}
      {job === null && trouble === null && <p class="card hint" role="status">{t("planner.asking")}</p>}
      {job !== null && <JobView whole={job} planner={planner} onChanged={setJob} />}
    </main>
  );
}
