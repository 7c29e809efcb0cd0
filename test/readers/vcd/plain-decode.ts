/** A second decoder, written apart from the reader: splits a whole dump at white space. */

export interface PlainDump {
  /** Name with its scopes, to code and width. */
  readonly variables: ReadonlyMap<string, { readonly code: string; readonly width: number }>;
  /** In order: every time and, by code, the values once it is over. */
  readonly steps: readonly {
    readonly time: number;
    readonly values: ReadonlyMap<string, string>;
  }[];
}

/** Vectors are extended to their width on the left; reals stay as written. */
export function plainDecode(text: string): PlainDump {
  const words = text.split(/\s+/).filter((w) => w !== '');
  const variables = new Map<string, { code: string; width: number }>();
  const widths = new Map<string, number>();
  const scopes: string[] = [];
  const values = new Map<string, string>();
  const steps: { time: number; values: Map<string, string> }[] = [];
  let time: number | undefined;
  for (let i = 0; i < words.length; i += 1) {
    const word = words[i]!;
    if (/^\$(date|version|comment|timescale|scope|var|upscope|enddefinitions)$/.test(word)) {
      const body: string[] = [];
      while (words[++i] !== '$end') body.push(words[i]!);
      if (word === '$scope') scopes.push(body[1]!.replace(/^\\/, ''));
      if (word === '$upscope') scopes.pop();
      if (word === '$var') {
        const name = body[3]!.replace(/^\\/, '');
        variables.set([...scopes, name].join('.'), { code: body[2]!, width: Number(body[1]) });
        widths.set(body[2]!, Number(body[1]));
      }
    } else if (word.startsWith('#')) {
      if (time !== undefined) steps.push({ time, values: new Map(values) });
      time = Number(word.slice(1));
    } else if (/^b/i.test(word)) {
      const code = words[++i]!;
      const bits = word.slice(1).toLowerCase();
      values.set(code, bits.padStart(widths.get(code)!, /[01]/.test(bits[0]!) ? '0' : bits[0]!));
    } else if (/^r/i.test(word)) values.set(words[++i]!, word.slice(1));
    else if (!word.startsWith('$')) values.set(word.slice(1), word[0]!.toLowerCase());
  }
  if (time !== undefined) steps.push({ time, values: new Map(values) });
  return { variables, steps };
}

/** Nine-valued logic as To_X01Z of IEEE 1164 reduces it (from memory). */
export function reduced(bits: string): string {
  return bits.toLowerCase().replace(/[hluw-]/g, (c) => ({ h: '1', l: '0' })[c] ?? 'x');
}
