// What of a fitting can be printed: certificate, dossier, label.
import { address, type Fitting } from "./api";
import { t } from "./messages";
import { useLengthUnit } from "./units";

export function Papers({ fitting }: { fitting: Fitting }) {
  const units = useLengthUnit() === "in" ? "inch" : "metric";
  const paper = (href: string, text: string) => <a class="button" href={href} target="_blank" rel="noopener">{text}</a>;
  return (
    <nav class="papers" aria-label={t("reviewer.papers")}>
      <div class="button-row">
        {fitting.stage === "released" && paper(address.certificate(fitting.serial, units), t("reviewer.certificate"))}
        {paper(address.dossier_pdf(fitting.serial, units), t("reviewer.dossier_pdf"))}
        {paper(address.label(fitting.serial), t("reviewer.label"))}
      </div>
      {fitting.stage !== "released" && <p class="hint">{t("reviewer.no_certificate_yet")}</p>}
    </nav>
  );
}
