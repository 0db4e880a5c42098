import { app } from "../app.mjs";

/** After how many months training is renewed here; null where that is not set. @returns {number | null} */
export function trainingMonths() {
  const text = app.state.safety?.[0]?.values.training_months ?? "";
  return /^\d{1,3}$/.test(text.trim()) ? Number(text) : null;
}
