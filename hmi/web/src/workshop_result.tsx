// The result of a force calibration as a table and a plot.
import { t } from "./messages";
import type { ForceCalibration } from "./workshop_api";
import { class_words, kn, percent } from "./workshop_words";
import { XyPlot, type Line } from "./xy_plot";

const dashes = ["solid", "dashed", "dotted", "thin"] as const;
const marks = ["circle", "square", "cross"] as const;

/** `short`: the plot alone, while readings are still being taken. */
export function Result({ calibration, targets, short = false }: { calibration: ForceCalibration; targets: readonly number[]; short?: boolean }) {
  const { result } = calibration;
  const limit = calibration.class_needed === "none" ? null : Number(calibration.class_needed);
  const lines: Line[] = calibration.runs.filter((run) => run.readings.length > 0).map((run, at) => ({
    name: t("technician.run_column", { run: at + 1, angle: run.cell_angle_deg }),
    points: run.readings.map((reading) => [reading.indicated_kn, reading.error_percent ?? 0] as const),
    dash: dashes[at % dashes.length] ?? "solid",
    marks: marks[at % marks.length] ?? "circle",
  }));
  const most = Math.max(limit ?? 1, ...lines.flatMap((line) => line.points.map((point) => Math.abs(point[1])))) * 1.15;
  return (
    <>
      <XyPlot label={t("technician.error_plot")} x_label={t("technician.axis_force")} y_label={t("technician.axis_error")} lines={lines} height={240}
        x_range={[0, calibration.range_kn * 1.05]} y_range={[-most, most]}
        help={[{ at: 0, upright: false, text: "" }, ...(limit === null ? [] : [{ at: limit, upright: false, text: t("technician.limit_of", { name: calibration.class_needed }) }, { at: -limit, upright: false, text: "" }])]} />
      {!short && result.steps.length > 0 && (
        <div class="scroll" tabIndex={0} role="region" aria-label={t("technician.error_plot")}>
          <table class="rows">
            <thead><tr><th scope="col">{t("technician.force")}</th><th scope="col">{t("technician.col_q")}</th><th scope="col">{t("technician.col_b")}</th><th scope="col">{t("technician.col_a")}</th><th scope="col">{t("technician.class")}</th></tr></thead>
            <tbody>
              {result.steps.map((step, at) => (
                <tr key={at}>
                  <th scope="row">{kn(targets[at] ?? step.indicated_kn)}</th>
                  <td>{percent(step.q_mean_percent)}</td><td>{percent(step.b_percent).replace("+", "")}</td><td>{percent(step.a_percent).replace("+", "")}</td><td>{class_words(step.class)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {!short && <p class="hint">{t("technician.zero_error", { f0: percent(result.f0_percent, 3) })} {t("technician.result_note")}</p>}
    </>
  );
}
