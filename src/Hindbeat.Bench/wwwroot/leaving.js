// What leaves the bench: the lesson's form is sent with a token that only this page can read, and a rebuild goes out by the dials.

export function watchLeaving(root, dials, signal) {
  root.addEventListener(
    "submit",
    async (event) => {
      const form = event.target.closest("[data-lesson]");
      const token = form?.querySelector("[data-token]");
      if (!token || token.value) return;
      event.preventDefault();
      token.value = await (await fetch("/add/token")).text();
      form.requestSubmit(event.submitter);
      token.value = "";
    },
    { signal },
  );
  root.addEventListener(
    "click",
    (event) => {
      const link = event.target.closest("[data-export=wav]");
      if (link) link.href = `${link.pathname}?${dials()}`;
    },
    { signal },
  );
}
