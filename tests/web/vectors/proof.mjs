// Judges a repair with the phone's modules and prints what they say: node proof.mjs STATIC PACK, the question as JSON on stdin.
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [folder, pack] = process.argv.slice(2);
const at = (name) => import(pathToFileURL(`${folder}/${name}`));
const [{ unpack }, { nextOf, oddsOf, proofOf }] = [await at("kernel.js"), await at("reckon.js")];
const pocket = await unpack(readFileSync(pack));
const words = { over: "over", any: "any", then: "then", why: "why", state: "state" };
const asked = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify({ proof: proofOf(pocket, asked, words), odds: oddsOf(pocket, asked), next: nextOf(pocket, asked, words) }));
