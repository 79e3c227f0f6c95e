// Talking to the page's own process: JSON there and back, errors in its words.
export class Refused extends Error {} // it was understood and is not done
export class Lost extends Error {} // nobody answered; it may be asked again
export class Ended extends Error {} // this page belongs to a start that is over

const known = fetch("/texts.json").then((answer) => answer.json());

export async function text(key, values = {}) {
  let found = (await known)[`js_${key}`] ?? key;
  for (const [name, value] of Object.entries(values)) found = found.replace(`{${name}}`, value);
  return found;
}

export async function ask(method, path, body, more = {}) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: { "content-type": "application/json" },
      body: body === undefined ? undefined : JSON.stringify(body),
      ...more,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Lost(await text("lost"));
  }
  if (answer.status === 403 || answer.status === 421) throw new Ended(await text("ended"));
  const told = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(told.message ?? (await text("failed")));
  return told;
}

export const airframe = document.body.dataset.airframe;
export const base = `/a/${encodeURIComponent(airframe)}`;

// One short sentence for those who listen; what changes many times a second is not told there.
export function announce(words) {
  const said = document.getElementById("said");
  if (said.textContent !== words) said.textContent = words;
}

export const wait = (ms) => new Promise((done) => setTimeout(done, ms));
