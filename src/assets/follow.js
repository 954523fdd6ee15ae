// Keeps the page of a drive up to date: reloads it after each change of its record, unless the reader is using it or has switched
// that off. Without the right to follow changes it polls the progress of the drive.
(() => {
  'use strict';
  const main = document.querySelector('main');
  const news = document.getElementById('news');
  const title = document.querySelector('.title');
  if (!main || !news || !title) return;

  const SWITCH = 'drivebook.follow';
  const POLL_MS = 30000;
  const QUIET_MS = 8000; // idle time of the reader before a reload
  const GATHER_MS = 1500; // changes come in pairs

  const read = () => {
    try {
      return localStorage.getItem(SWITCH) !== 'off';
    } catch {
      return true;
    }
  };
  const write = (on) => {
    try {
      localStorage.setItem(SWITCH, on ? 'on' : 'off');
    } catch {
      // it lasts as long as the page
    }
  };

  const label = document.createElement('label');
  label.className = 'follow';
  const box = document.createElement('input');
  box.type = 'checkbox';
  box.checked = read();
  label.append(box, ' Update automatically');
  title.append(label);

  let touched = 0;
  for (const event of ['pointerdown', 'keydown', 'wheel', 'touchmove'])
    addEventListener(event, () => (touched = Date.now()), { passive: true });

  let changed = false;
  const show = () => {
    if (!news.hidden) return;
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = 'Reload';
    button.addEventListener('click', () => location.reload());
    news.replaceChildren('The record has changed since this page was loaded. ', button);
    news.hidden = false;
  };
  const isAtWork = () =>
    Date.now() - touched < QUIET_MS ||
    String(getSelection()) !== '' ||
    (document.activeElement !== box && main.contains(document.activeElement));
  const update = () => {
    if (!changed) return;
    if (box.checked && !document.hidden && !isAtWork()) location.reload();
    else show();
  };
  const onChange = () => {
    if (changed) return;
    changed = true;
    setTimeout(update, GATHER_MS);
  };
  box.addEventListener('change', () => {
    write(box.checked);
    if (box.checked) setTimeout(update, 0);
  });
  document.addEventListener('visibilitychange', update);
  setInterval(update, QUIET_MS);

  const { changes, poll } = main.dataset;
  if (changes) {
    const events = new EventSource(changes);
    events.addEventListener('message', onChange);
    addEventListener('pagehide', () => events.close());
  } else if (poll) {
    let known;
    const ask = async () => {
      if (document.hidden) return;
      const answer = await fetch(poll, { headers: { accept: 'application/json' } }).catch(() => undefined);
      if (!answer || !answer.ok) return;
      const text = await answer.text();
      if (known !== undefined && text !== known) onChange();
      known = text;
    };
    void ask();
    setInterval(() => void ask(), POLL_MS);
  }
})();
