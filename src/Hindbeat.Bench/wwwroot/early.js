// While the page is still being set: the chart that it was sent with is kept, so that it need not be sent and set again when the page
// is live (study.js takes it over), and the outline of the sound is asked for (sounds.js takes it from here).

const [, study] = location.pathname.match(/^\/study\/([\w-]+)$/) ?? [];
const chart = document.querySelector("[data-chart] > svg");
if (study && chart) {
  const address = `/sound/${study}/outline`;
  // Without a recording there is none; whoever needs it asks again and tells.
  const outline = document.querySelector("[data-original]") ? fetch(address).catch(() => undefined) : undefined;
  globalThis.hindbeatEarly = { study, chart, address, outline };
}
