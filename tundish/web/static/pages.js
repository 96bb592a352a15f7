// Which page stands under which name.
import { Agree } from "./page_agree.js";
import { Ask } from "./page_ask.js";
import { Bench } from "./page_bench.js";
import { Close } from "./page_close.js";
import { Find } from "./page_find.js";
import { Fix } from "./page_fix.js";
import { Handbook } from "./page_handbook.js";
import { Load } from "./page_load.js";
import { Lost, Pair, SignIn } from "./page_in.js";
import { Prove } from "./page_prove.js";
import { Safe } from "./page_safe.js";
import { Settings } from "./page_settings.js";
import { Van } from "./page_van.js";

export const PAGES = {
  ask: Ask, load: Load, safe: Safe, find: Find, agree: Agree, fix: Fix, prove: Prove, close: Close,
  van: Van, stock: Van, handbook: Handbook, bench: Bench, settings: Settings, people: Settings, devices: Settings,
  pair: Pair, signIn: SignIn, lost: Lost,
};
