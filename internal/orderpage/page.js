'use strict';
// The token of a link stands behind #, which goes to no server by itself.
const opening = document.getElementById('open');
if (opening) {
  const token = location.hash.slice(1);
  if (/^[A-Za-z0-9_-]{22,64}$/.test(token)) {
    document.getElementById('token').value = token;
    document.getElementById('code').hidden = true;
    history.replaceState(null, '', location.pathname);
  }
}
// One press is enough.
document.addEventListener('submit', (e) => {
  if (e.target.dataset.sent) { e.preventDefault(); return; }
  e.target.dataset.sent = '1';
});
addEventListener('pageshow', (e) => { if (e.persisted) location.reload(); });

let page = document.getElementById('page');
const alertBox = document.getElementById('alert');

function typing() {
  return [...page.querySelectorAll('input:not([type=hidden]), textarea')].some((f) => f.value !== f.defaultValue || 'typed' in f.dataset && f.value);
}

function say(words, label, press) {
  alertBox.replaceChildren(document.createTextNode(words));
  if (!label) return;
  const button = document.createElement('button');
  button.type = 'button';
  button.textContent = label;
  button.addEventListener('click', press);
  alertBox.append(button);
}

// What the server sent, without what is different each time.
function served(page) {
  const once = page.querySelector('[name=once]');
  return once ? page.innerHTML.replaceAll(once.value, '') : page.innerHTML;
}

let shows = served(page);

// A page that is replaced for nothing takes the button from under a finger. So what is new
// is fetched one time after the other, not again where the page shows it by then, and only
// what reads otherwise is put in.
let renewed = Promise.resolve();
function renew(shown) {
  renewed = renewed.catch(() => {}).then(() => shown() ? undefined : fetchNew());
  return renewed;
}

// What never answers keeps those that wait behind it for so long, in ms.
const patience = 20000;

// What could not be fetched is fetched when the line stands again.
let missed = false;
function follow(shown) {
  renew(shown).then(() => { missed = false; found(); }, () => { missed = true; say(page.dataset.lost); });
}

// The line stands again.
function found() {
  if (alertBox.textContent === page.dataset.lost) alertBox.replaceChildren();
}

async function fetchNew() {
  const answer = await fetch(location.pathname, { credentials: 'same-origin', cache: 'no-store', signal: AbortSignal.timeout(patience) });
  if (answer.status === 429 || answer.status >= 500) throw new Error('later');
  const next = new DOMParser().parseFromString(await answer.text(), 'text/html');
  const fresh = next.getElementById('page');
  if (!fresh) { location.reload(); return; }
  if (served(fresh) === shows) { page.dataset.has = fresh.dataset.has; return; }
  if (typing()) { say(page.dataset.new, page.dataset.show, show); return; }
  put(fresh, next.title);
}

function put(fresh, title) {
  const folds = [...page.querySelectorAll('details')].map((d) => d.open);
  const words = page.dataset.new;
  const stops = () => [...page.querySelectorAll('a, button, input:not([type=hidden]), textarea, summary')];
  const at = stops().indexOf(document.activeElement);
  page.replaceWith(fresh);
  page = fresh;
  shows = served(page);
  if (at >= 0 && stops()[at]) stops()[at].focus({ preventScroll: true });
  page.querySelectorAll('details').forEach((d, i) => { d.open = !!folds[i]; });
  document.title = title;
  if (!page.dataset.live) { source.close(); alertBox.replaceChildren(); return; }
  say(words);
  setTimeout(() => { if (!alertBox.querySelector('button')) alertBox.replaceChildren(); }, 6000);
}

function show() {
  alertBox.replaceChildren();
  page.querySelectorAll('form').forEach((f) => f.reset());
  page.querySelectorAll('[data-typed]').forEach((f) => delete f.dataset.typed);
  const before = page;
  follow(() => page !== before);
}

let source;
if (page.dataset.live) {
  source = new EventSource(page.dataset.live + '?has=' + encodeURIComponent(page.dataset.has));
  source.addEventListener('new', (e) => {
    follow(() => e.lastEventId && e.lastEventId === page.dataset.has);
  });
  source.addEventListener('open', () => {
    found();
    if (missed) follow(() => false);
  });
  source.addEventListener('error', () => { if (source.readyState === 2) say(page.dataset.lost); });
}
