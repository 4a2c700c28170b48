// Asks for the outline of a study's sound while the page is still being set; sounds.js takes it from here.

const [, study] = location.pathname.match(/^\/study\/([\w-]+)$/) ?? [];
if (study) {
  const address = `/sound/${study}/outline`;
  // A failure is told by whoever waits for it; until then nobody does.
  const answer = fetch(address);
  answer.catch(() => {});
  globalThis.hindbeatEarly = { address, answer };
}
