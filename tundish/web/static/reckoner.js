// The worker that reckons from packed calls. It opens a pack once, tells the odds first, then how far the next action is, then that.
import { unpack } from "./kernel.js";
import { nextOf, oddsOf, proofOf } from "./reckon.js";
import * as shelf from "./shelf.js";

const held = { key: "", at: 0, pocket: null };
let latest = null;
let running = false;

self.onmessage = ({ data }) => {
  if (data.warm) return void (running || opened(data.warm).catch(() => {}));
  // Only the newest question is worth an answer
  latest = data;
  if (!running) run();
};

async function run() {
  running = true;
  while (latest) {
    const asked = latest;
    latest = null;
    await answer(asked).catch((error) => self.postMessage({ ask: asked.ask, fault: String(error?.message || error) }));
    // Questions that came meanwhile are heard here
    await new Promise((go) => setTimeout(go));
  }
  running = false;
}

async function answer({ ask, key, asked, words, wants }) {
  const tell = (part) => self.postMessage({ ask, ...part });
  const pocket = await opened(key);
  if (!pocket) return tell({ none: true });
  tell({ odds: oddsOf(pocket, asked), proof: proofOf(pocket, asked, words) });
  if (wants === "next") tell({ next: nextOf(pocket, asked, words, (share) => tell({ share })) });
  return tell({ done: true });
}

async function opened(key) {
  const kept = await shelf.packOf(key);
  if (!kept) return null;
  if (held.key !== key || held.at !== kept.at) Object.assign(held, { key, at: kept.at, pocket: await unpack(kept.bytes) });
  return held.pocket;
}
