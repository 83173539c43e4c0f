// One shape per meaning, so that nothing rests on colour alone. Colours follow IEC 60073: red danger, yellow abnormal,
// green normal, blue mandatory action, grey no special meaning. The shapes are our own.

export type Meaning = "normal" | "abnormal" | "danger" | "mandatory" | "neutral";

export function Sign({ meaning, size = 28 }: { meaning: Meaning; size?: number }) {
  return (
    <svg class={`sign sign-${meaning}`} width={size} height={size} viewBox="0 0 40 40" aria-hidden="true">
      {shapes[meaning]()}
    </svg>
  );
}

const shapes: Record<Meaning, () => preact.JSX.Element> = {
  normal: () => (
    <>
      <circle class="sign-ground" cx="20" cy="20" r="18" />
      <path class="sign-line" d="M10 21l7 7 13-15" />
    </>
  ),
  abnormal: () => (
    <>
      <path class="sign-ground" d="M20 2l19 35H1z" />
      <path class="sign-line" d="M20 14v11M20 30v3" />
    </>
  ),
  danger: () => (
    <>
      <path class="sign-ground" d="M12.5 2h15L38 12.5v15L27.5 38h-15L2 27.5v-15z" />
      <path class="sign-line" d="M12 12l16 16M28 12L12 28" />
    </>
  ),
  mandatory: () => (
    <>
      <circle class="sign-ground" cx="20" cy="20" r="18" />
      <path class="sign-line" d="M10 20h18M21 12l8 8-8 8" />
    </>
  ),
  neutral: () => (
    <>
      <rect class="sign-ground" x="3" y="3" width="34" height="34" rx="4" />
      <path class="sign-line" d="M12 20h16" />
    </>
  ),
};
