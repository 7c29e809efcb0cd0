/**
 * What a fit answer never decides. Shown with every answer: the tool compares numbers, people mate
 * boards.
 */
export const fitCautions: readonly string[] = [
  'The data sheets of the parts and the current editions of the standards come before this answer.',
  'Values marked "from memory" are not confirmed in a text: check them before mating.',
  'Never mate or part a mezzanine under power; wait until every supply has run down.',
  'Frames and parts get hot enough to burn: let a plug-in cool before it is handled.',
  'Handle boards with protection against static discharge, worker and work surface both earthed.',
  'A module is thermally qualified on its target carrier, in its slot; ratings do not add up.',
  'A temperature worked out here says where to measure; only a measurement releases a build.',
  'Airborne and shipboard use has its own rules: these, local codes and their authority decide.',
  'A qualified engineer decides whether to build, mate and power the system.',
];
