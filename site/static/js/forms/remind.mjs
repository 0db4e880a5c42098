/** A button of an answer that hands over a calendar file for one instant: "data-remind", on this device's clock. */

import { handOver } from "../frame/share.mjs";
import { icsText } from "../rules/calendar.mjs";
import { clock } from "../store/clock.mjs";

document.addEventListener("click", ({ target }) => {
  const button = target instanceof Element ? target.closest("button") : null;
  const { remind, title = "", note = "", name = "" } = button?.dataset ?? {};
  if (remind === undefined) return;
  const text = icsText({ uid: `${remind} ${title}`, at: new Date(remind).getTime(), stamp: clock.now(), title, description: note });
  void handOver(new File([text], `${name}-${remind.replace(":", "")}.ics`, { type: "text/calendar" }));
});
