/**
 * What a fit answer never decides. Shown with every answer: the tool compares numbers, people mate
 * boards.
 */
export const fitCautions: readonly string[] = [
  'The data sheets of the parts, and the standards in their current editions, come before anything said here.',
  'Rows marked "from memory" are not confirmed in a text: check them against the standard before mating.',
  'Never mate or part a mezzanine with power applied; wait until every supply has run down.',
  'Handle boards with protection against static discharge, on an earthed surface with an earthed wrist strap.',
  'A module is thermally qualified on its target carrier, in its slot; ratings of the parts alone do not add up to one.',
  'For airborne and shipboard use, the rules of that use, local codes and the authority in charge decide.',
  'A qualified engineer decides whether to build, mate and power the system.',
];
