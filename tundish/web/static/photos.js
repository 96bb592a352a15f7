// Photos of a call: taken with the phone's camera, drawn anew, kept here first.
import { html, useEffect, useState } from "./ui.js";
import { say } from "./say.js";
import { keepPhoto } from "./outbox.js";
import { photo } from "./shelf.js";

/** A button that takes a photo. subject: what it shows. */
export function Shot({ call, subject, stage, words, low }) {
  const [error, set] = useState("");
  const taken = async (event) => {
    const file = event.target.files[0];
    event.target.value = "";
    if (!file) return;
    set("");
    await keepPhoto(call, file, subject, stage).catch((e) => set(e.seen ? say(e.seen) : say("photo_bad")));
  };
  return html`<div class="shot"><label><input type="file" accept="image/*" capture="environment" onChange=${taken} aria-label=${`${say("take_photo")}: ${words || subject}`} />
    <span class=${`tap wide ${low ? "low" : ""}`}>${say("take_photo")}${words ? `: ${words}` : ""}</span></label>
    ${error ? html`<p class="warn bad" role="alert">${error}</p>` : null}</div>`;
}

/** Photos as small pictures. list: bodies of `photo kept`. */
export function Photos({ list }) {
  if (!list.length) return null;
  return html`<ul class="photos">${list.map((one) => html`<${Picture} key=${one.sha256} one=${one} />`)}</ul>`;
}

function Picture({ one }) {
  const [source, set] = useState("");
  useEffect(() => {
    let url = "";
    photo(one.sha256).then((held) => {
      url = held ? URL.createObjectURL(held.blob) : "";
      set(url || `/api/photos/${one.sha256}`);
    });
    return () => url && URL.revokeObjectURL(url);
  }, [one.sha256]);
  return html`<li>${source ? html`<img class=${`held-${one.orientation || 1}`} src=${source} alt=${one.subject} loading="lazy" />` : null}<span class="small">${one.subject}</span></li>`;
}
