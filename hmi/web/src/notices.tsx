// What the station has to say to everybody. More than two are folded: after a restart with much open work they would
// push what the page is for off the screen.
import { t } from "./messages";
import { Sign } from "./signs";

const shown_most = 2;

export function Notices({ notices }: { notices: readonly string[] }) {
  const lines = notices.map((notice) => <p class="station-notice" key={notice} role="status"><Sign meaning="abnormal" size={22} />{notice}</p>);
  if (notices.length <= shown_most) return <>{lines}</>;
  return (
    <details class="notices">
      <summary><Sign meaning="abnormal" size={22} />{t("common.notices", { count: notices.length })}</summary>
      {lines}
    </details>
  );
}
