// The table of safety steps as tundish.plan.states has it, for a phone without a server. A test holds this file against that table.
export const WHO = ["any", "trained", "qualified"];
export const SAFE_POWER = ["dead", "discharged", "isolated"];
export const FACETS = {"power": ["on", "isolated", "dead", "discharged", "live"], "water": ["none", "on", "off", "relieved"], "place": ["in place", "pulled out"], "heat": ["cold", "hot"], "gas": ["none", "present"], "refrigerant": ["none", "plain", "flammable"], "hazard": ["unknown", "none seen", "seen"], "supply": ["plug", "breaker"], "use": ["in hand", "returned to use", "out of use"]};
export const FOUND = {"power": ["on", "isolated"], "water": ["none", "on", "off"], "place": ["in place", "pulled out"], "heat": ["hot"], "gas": ["none", "present"], "refrigerant": ["none", "plain", "flammable"], "hazard": ["seen", "unknown"], "supply": ["plug", "breaker"], "use": ["in hand"]};
export const PANEL_PROOFS = {"open": "photo before", "close": "earths refitted first, covers and clips back, no spare screws, photo"};
export const STEPS = [
  {"name": "look, smell and ask", "facet": "hazard", "start": "unknown", "end": "none seen", "minutes": [8, 8], "proof": "no smell of gas, no smoke, no shock, no water on live parts, outlet whole", "who": "any", "needs": {}},
  {"name": "pull the plug", "facet": "power", "start": "on", "end": "isolated", "minutes": [2, 2], "proof": "plug out and in sight", "who": "any", "needs": {"supply": ["plug"]}},
  {"name": "breaker off, locked and tagged", "facet": "power", "start": "on", "end": "isolated", "minutes": [6, 6], "proof": "lock and tag on, both poles off, tried to start", "who": "trained", "needs": {"supply": ["breaker"]}},
  {"name": "prove dead", "facet": "power", "start": "isolated", "end": "dead", "minutes": [3, 4], "proof": "0 V on all pairs at the point of work, tester proved before and after on a known source", "who": "trained", "needs": {}},
  {"name": "discharge", "facet": "power", "start": "dead", "end": "discharged", "minutes": [2, 10], "proof": "below 5 V d.c. after 60 s rest; springs and drum blocked", "who": "trained", "needs": {}},
  {"name": "energise", "facet": "power", "start": "isolated", "end": "on", "minutes": [1, 1], "proof": "nobody in contact", "who": "any", "needs": {"panels": ["closed"], "hazard": ["none seen"]}},
  {"name": "energise", "facet": "power", "start": "dead", "end": "on", "minutes": [1, 1], "proof": "nobody in contact", "who": "any", "needs": {"panels": ["closed"], "hazard": ["none seen"]}},
  {"name": "energise", "facet": "power", "start": "discharged", "end": "on", "minutes": [1, 1], "proof": "nobody in contact", "who": "any", "needs": {"panels": ["closed"], "hazard": ["none seen"]}},
  {"name": "energise open, leads clipped on dead", "facet": "power", "start": "dead", "end": "live", "minutes": [4, 4], "proof": "written reason why it cannot be read isolated; second adult aware; under 60 s energised", "who": "qualified", "needs": {"hazard": ["none seen"]}},
  {"name": "off again", "facet": "power", "start": "live", "end": "isolated", "minutes": [3, 3], "proof": "plug out and in sight", "who": "qualified", "needs": {}},
  {"name": "shut the taps", "facet": "water", "start": "on", "end": "off", "minutes": [1, 1], "proof": "taps shut by hand", "who": "any", "needs": {}},
  {"name": "let off the pressure", "facet": "water", "start": "off", "end": "relieved", "minutes": [2, 2], "proof": "no drip into towel or tray", "who": "any", "needs": {}},
  {"name": "open the taps", "facet": "water", "start": "off", "end": "on", "minutes": [1, 1], "proof": "joints dry", "who": "any", "needs": {"hazard": ["none seen"]}},
  {"name": "open the taps", "facet": "water", "start": "relieved", "end": "on", "minutes": [1, 1], "proof": "joints dry", "who": "any", "needs": {"hazard": ["none seen"]}},
  {"name": "pull the machine out", "facet": "place", "start": "in place", "end": "pulled out", "minutes": [2, 4], "proof": "hoses seen and photographed before; two persons over 70 kg", "who": "any", "needs": {}},
  {"name": "push the machine back", "facet": "place", "start": "pulled out", "end": "in place", "minutes": [2, 4], "proof": "hoses seen to lie in smooth bends", "who": "any", "needs": {}},
  {"name": "let it cool", "facet": "heat", "start": "hot", "end": "cold", "minutes": [10, 60], "proof": "at most 40 C at the point of work, by thermometer", "who": "any", "needs": {"power": ["dead", "discharged", "isolated"]}},
  {"name": "return to use", "facet": "use", "start": "in hand", "end": "returned to use", "minutes": [15, 60], "proof": "function and proof in the as-used state", "who": "any", "needs": {"power": ["on"], "water": ["none", "on"], "place": ["in place"], "panels": ["closed"], "hazard": ["none seen"]}},
  {"name": "put out of use", "facet": "use", "start": "in hand", "end": "out of use", "minutes": [1, 5], "proof": "plug tagged or breaker off, customer told in writing", "who": "any", "needs": {"power": ["dead", "discharged", "isolated"]}},
];
