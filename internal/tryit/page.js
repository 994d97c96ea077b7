// What the page does beyond forms: it shows what is new without being loaded again.
"use strict";
const words = document.body.dataset;
const line = document.getElementById("line");
// On a narrow page it is the page that scrolls.
const rolls = log => getComputedStyle(log).overflowY === "visible" ? document.scrollingElement : log;
const near = log => { const r = rolls(log); return r.scrollHeight - r.scrollTop - r.clientHeight < 80 };
const bottom = log => { const r = rolls(log); r.scrollTop = r.scrollHeight };
// see shows a message, a long one from its beginning, and moves nothing but its log.
function see(log, article) {
  if (rolls(log) !== log) return article.scrollIntoView({block: article.offsetHeight > innerHeight / 2 ? "start" : "nearest"});
  const a = article.getBoundingClientRect(), l = log.getBoundingClientRect();
  if (a.height > l.height || a.top < l.top) log.scrollTop += a.top - l.top;
  else if (a.bottom > l.bottom) log.scrollTop += a.bottom - l.bottom;
}
let pressed = ""; // the chair whose next message gets the focus

for (const log of document.querySelectorAll(".log")) bottom(log);

function put({chair, message, html, own, note, noted, clock}) {
  if (clock) document.getElementById("clock").textContent = clock;
  if (!chair) return;
  const section = document.getElementById(chair);
  if (noted) section.querySelector(".note").textContent = note || "";
  if (!message) return;
  const log = section.querySelector(".log");
  const end = log.querySelector(".end");
  const follow = near(log) || own;
  const there = document.getElementById(message);
  const box = document.createElement("template");
  box.innerHTML = html;
  const article = box.content.firstElementChild;
  if (there) {
    const focused = there.contains(document.activeElement);
    there.replaceWith(article);
    if (focused) article.focus();
  } else {
    log.insertBefore(article, end);
    if (!section.offsetParent && !own) count(chair); // where it can't be seen
  }
  for (const picture of article.querySelectorAll("img")) {
    picture.addEventListener("load", () => { if (follow) see(log, article) });
  }
  if (pressed === chair && !own) {
    pressed = "";
    article.focus({preventScroll: true});
    see(log, article);
  } else if (follow) own ? bottom(log) : see(log, article);
}

// count says at the switch of a chair how much is new there.
function count(chair) {
  const mark = document.querySelector(`nav [data-chair="${chair}"] .new`);
  mark.dataset.n = Number(mark.dataset.n || 0) + 1;
  mark.textContent = `(${mark.dataset.n} ${words.new})`;
}

// sit shows one chair where there is room for one.
function sit(chair) {
  for (const section of document.querySelectorAll(".chair")) section.classList.toggle("at", section.id === chair);
  for (const link of document.querySelectorAll("nav [data-chair]")) {
    if (link.dataset.chair !== chair) { link.removeAttribute("aria-current"); continue }
    link.setAttribute("aria-current", "true");
    const mark = link.querySelector(".new");
    mark.textContent = "";
    delete mark.dataset.n;
  }
  history.replaceState(null, "", `?chair=${chair}`);
  const title = document.getElementById(`title-${chair}`);
  title.focus({preventScroll: true});
  title.scrollIntoView({block: "nearest"});
  bottom(document.getElementById(`log-${chair}`));
}

document.querySelector("nav").addEventListener("click", event => {
  const link = event.target.closest("[data-chair]");
  if (!link) return;
  event.preventDefault();
  sit(link.dataset.chair);
});

document.addEventListener("submit", async event => {
  const form = event.target, button = event.submitter;
  event.preventDefault();
  if (button && button.name && button.hasAttribute("aria-disabled")) return; // one press is enough
  const body = new FormData(form, button);
  const press = button && button.name === "press";
  const text = form.querySelector("textarea"), photo = form.querySelector("[type=file]");
  if (press || !photo || !photo.value) body.delete("photo");
  if (press) ["text", "reply", "edit"].forEach(name => body.delete(name));
  body.set("script", "1");
  const said = text && !press ? text.value : "";
  if (said) text.value = ""; // what is typed meanwhile is the next message
  const before = pressed;
  if (press) pressed = form.dataset.chair;
  if (button) button.setAttribute("aria-disabled", "true");
  const place = form.closest(".chair");
  if (place) place.querySelector(".note").textContent = ""; // what was said of the turn before
  let wrong = "";
  try {
    const answer = await fetch(form.action, {method: "POST", body, redirect: "error"});
    if (!answer.ok) wrong = await answer.text();
  } catch { wrong = words.lost }
  if (button) button.removeAttribute("aria-disabled");
  if (wrong) pressed = before;
  if (wrong && said) text.value = said + text.value;
  if (!wrong && text && !press) { photo.value = ""; about(form) }
  if (wrong) (place ? place.querySelector(".note") : line).textContent = wrong;
});

// about says in a form which message is answered or corrected; none: a new one.
function about(form, kind, number) {
  form.reply.value = kind === "reply" ? number : 0;
  form.edit.value = kind === "edit" ? number : 0;
  const box = form.querySelector(".about");
  box.hidden = !kind;
  if (kind) box.querySelector("span").textContent = box.dataset[kind];
}

document.querySelector("main").addEventListener("click", event => {
  const link = event.target.closest("[data-reply], [data-edit], [data-neither]");
  if (!link || link.tagName !== "A") return;
  event.preventDefault();
  const form = link.closest(".chair").querySelector("form");
  const kind = link.dataset.reply ? "reply" : link.dataset.edit ? "edit" : "";
  about(form, kind, link.dataset[kind]);
  if (kind === "edit") form.text.value = link.dataset.typed;
  form.text.focus();
});

// copy puts a text where it can be pasted from. Who does not let a page do that is shown
// the text, to copy it by hand.
async function copy(button) {
  const field = button.nextElementSibling, note = button.closest(".chair").querySelector(".note");
  note.textContent = ""; // so that the same words are said again
  try {
    await navigator.clipboard.writeText(field.value);
    note.textContent = words.copied;
  } catch {
    field.hidden = false;
    field.focus();
    field.select();
    note.textContent = words.select;
  }
}

document.querySelector("main").addEventListener("click", event => {
  const button = event.target.closest(".copy");
  if (button) copy(button);
});

document.addEventListener("keypress", event => {
  if (event.key !== "Enter" || event.shiftKey || event.isComposing || event.target.tagName !== "TEXTAREA") return;
  event.preventDefault();
  const form = event.target.form;
  if (form.text.value.trim() || form.photo.value) form.requestSubmit(form.querySelector(".send"));
});

const source = new EventSource(`${words.events}?after=${words.last}`);
source.onmessage = event => put(JSON.parse(event.data));
source.onopen = () => { line.textContent = "" };
source.onerror = () => { line.textContent = source.readyState === EventSource.CLOSED ? words.ended : words.lost };
