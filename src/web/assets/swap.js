// Swaps the answer while a question is typed. Without it, every form works by its button.
"use strict";
(() => {
  const form = document.querySelector("form[data-live]");
  const answer = document.getElementById("answer");
  const said = document.getElementById("said");
  if (!form || !answer) return;
  const longest = 6000;
  let waiting, running, asked;

  // Blanks are left out, so that the address says what is asked and no more.
  const question = () => {
    const fields = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (value.trim()) fields.append(name, value);
    return fields.toString();
  };

  // What the new page says of each field: its faults and the figure that counts while it is empty.
  const mark = (page) => {
    for (const fault of form.querySelectorAll("ul.fault")) fault.remove();
    for (const field of form.querySelectorAll("input, select, textarea, fieldset")) {
      const now = field.id && page.getElementById(field.id);
      if (!now) continue;
      const fault = page.getElementById(field.id + "-fault");
      if (fault) field.parentElement.append(fault);
      for (const name of ["aria-invalid", "aria-describedby", "placeholder"]) {
        const value = now.getAttribute(name);
        if (value === null) field.removeAttribute(name);
        else field.setAttribute(name, value);
      }
    }
    for (const label of form.querySelectorAll("label[for]")) {
      const now = page.querySelector(`label[for="${CSS.escape(label.htmlFor)}"]`);
      if (now) label.replaceChildren(...now.childNodes);
    }
  };

  const ask = async () => {
    if (question() === asked) return;
    running?.abort();
    const mine = (running = new AbortController());
    answer.setAttribute("aria-busy", "true");
    const fields = question();
    const short = fields.length <= longest;
    const address = form.action.split("#")[0] + (fields && short ? "?" + fields : "");
    try {
      const reply = await fetch(address, short ? { signal: mine.signal } : { signal: mine.signal, method: "POST", body: new URLSearchParams(fields) });
      if (reply.status === 503) {
        waiting = setTimeout(ask, 1000 * (Number(reply.headers.get("Retry-After")) || 1));
        return;
      }
      const page = new DOMParser().parseFromString(await reply.text(), "text/html");
      const fresh = page.getElementById("answer");
      if (!fresh) throw new Error("no answer");
      answer.replaceChildren(...fresh.childNodes);
      mark(page);
      if (short) history.replaceState(null, "", address);
      for (const link of document.querySelectorAll("nav a, .name a")) {
        const now = page.querySelector(`nav a[href^="${CSS.escape(link.pathname)}"]`);
        if (now && now.pathname === link.pathname) link.href = now.href;
      }
      said.textContent = answer.querySelector(".verdict, .refused h2")?.textContent || "Answered";
      answer.removeAttribute("aria-busy");
      asked = fields;
    } catch (error) {
      if (error.name === "AbortError") return;
      said.textContent = "No connection: the sheet shows the last answer.";
      said.classList.remove("vh");
      return;
    }
    said.classList.add("vh");
  };

  const soon = () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 150);
  };
  form.addEventListener("input", soon);
  form.addEventListener("change", soon);
  form.addEventListener("submit", (event) => {
    if (event.submitter?.formMethod === "post") return;
    event.preventDefault();
    clearTimeout(waiting);
    ask().then(() => answer.scrollIntoView({ block: "start" }));
  });
})();
