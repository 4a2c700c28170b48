// When the bench was closed and started again, the page it finds is from before: it is loaded anew. Nothing is lost by that,
// because every change is kept as it is made.

const modal = document.getElementById("components-reconnect-modal");
let waiting = false;

modal.addEventListener("components-reconnect-state-changed", (event) => {
  if (event.detail.state === "rejected") location.reload();
  else if (event.detail.state === "failed") wait();
});

async function wait() {
  if (waiting) return;
  waiting = true;
  for (;;) {
    await new Promise((done) => setTimeout(done, 1000));
    try {
      if ((await fetch(location.href, { method: "HEAD", cache: "no-store" })).ok) return location.reload();
    } catch {
      // Not there yet.
    }
  }
}
