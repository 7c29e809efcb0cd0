/** Words for the direction of a transfer, and which of them leave it open. */
import type { Choice, FlowDirection } from './types.ts';

/** Every direction a row may have. */
export const flowDirections: readonly FlowDirection[] = ['to host', 'from host', 'both'];

/** Words that can mean one thing only; upstream is towards the root complex in the standard. */
const plainWords: Readonly<Record<FlowDirection, readonly string[]>> = {
  'to host': ['to host', 'up', 'upstream', 'module to host', 'device to host', 'board to host'],
  'from host': [
    'from host',
    'down',
    'downstream',
    'host to module',
    'host to device',
    'host to board',
  ],
  both: ['both', 'both directions', 'bidirectional', 'duplex', 'mixed'],
};

/** Words that hang on whose they are: a board writes to the host, and a host writes to a board. */
const readWords = /^(?:r|rd|reads?|reading)$/;
const writeWords = /^(?:w|wr|writes?|writing)$/;
const inWords = /^(?:rx|recv|receive|received|in|input|inbound)$/;
const outWords = /^(?:tx|xmit|transmit|transmitted|send|sent|out|output|outbound)$/;

/** A direction, or the choices that a word leaves. */
export type DirectionReading =
  | { readonly kind: 'exact'; readonly value: FlowDirection }
  | { readonly kind: 'ambiguous'; readonly choices: readonly Choice[] };

function choice(id: FlowDirection, meaning: string): Choice {
  return { id, meaning, standard: false };
}

/** Reads a word. One that is not known leaves every direction open. */
export function readDirection(text: string): DirectionReading {
  const word = text
    .slice(0, 60)
    .toLowerCase()
    .replace(/[\s_-]+/g, ' ')
    .trim();
  const value = flowDirections.find((d) => plainWords[d].includes(word));
  if (value !== undefined) return { kind: 'exact', value };
  return { kind: 'ambiguous', choices: choicesOf(word) };
}

function choicesOf(word: string): readonly Choice[] {
  if (readWords.test(word)) {
    return [
      choice('from host', 'the module reads from host memory'),
      choice('to host', 'the host reads from the module'),
    ];
  }
  if (writeWords.test(word)) {
    return [
      choice('to host', 'the module writes to host memory'),
      choice('from host', 'the host writes to the module'),
    ];
  }
  if (inWords.test(word)) {
    return [
      choice('to host', 'data comes into the host'),
      choice('from host', 'data comes into the module'),
    ];
  }
  if (outWords.test(word)) {
    return [
      choice('from host', 'data goes out of the host'),
      choice('to host', 'data goes out of the module'),
    ];
  }
  return [
    choice('to host', 'from the module to the host'),
    choice('from host', 'from the host to the module'),
    choice('both', 'both directions at once'),
  ];
}

/** What to write in a mapping about a word that is open. */
export function wordAdvice(word: string, choices: readonly Choice[]): string {
  const ways = choices.map((c) => `{${word}: ${c.id}}`).join(' or ');
  return `say what the word means in the mapping, directions: ${ways}`;
}
