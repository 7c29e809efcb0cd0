import type { Place } from '../../model/basis.ts';
import type { Part, PartKind } from '../parts.ts';
import type { PartReference } from '../schema/reference.ts';
import { spellingHelp } from '../text/nearest.ts';
import type { SourceFile } from '../text/parse.ts';
import { Collector } from '../text/problems.ts';
import { quoted } from '../text/tree.ts';
import type { Library } from './context.ts';
import { type Asked, withoutFixed } from './options.ts';
import { partFrom } from './part.ts';

/**
 * Parts that earlier readings of the same case built, with what was wrong with them: by the place that
 * names the part, the kind wanted there, and the choices that override the case's.
 */
export type BuiltBefore = Map<string, { readonly part: Part | undefined; readonly out: Collector }>;

/** The parts of one case: finds and builds them, and keeps count of the files used. */
export class Shelf {
  readonly #library: Library;
  readonly #choose: ReadonlyMap<string, Readonly<Record<string, string>>>;
  readonly #out: Collector;
  readonly #built: BuiltBefore;
  readonly #files: string[];
  readonly #asked = new Set<string>();

  constructor(
    caseFile: string,
    library: Library,
    choose: Readonly<Record<string, Readonly<Record<string, string>>>>,
    out: Collector,
    built: BuiltBefore,
  ) {
    this.#built = built;
    this.#library = library;
    this.#choose = new Map(Object.entries(choose));
    this.#out = out;
    this.#files = [caseFile];
  }

  /** Files read so far, in order of first use. */
  get files(): readonly string[] {
    return this.#files;
  }

  /** The part a case refers to, built as asked; undefined when it is absent or cannot be used. */
  get<K extends PartKind>(
    reference: PartReference,
    kind: K,
  ): Extract<Part, { kind: K }> | undefined {
    const { value: id, place } = reference.part;
    this.#asked.add(id);
    const source = this.#library.find(id);
    if (source === undefined) {
      this.#out.report('unknown-part', place, {
        expected: 'the id of a part in the library',
        got: quoted(id),
        next: spellingHelp(id, this.#library.ids(), 'part'),
      });
      return undefined;
    }
    if (!this.#files.includes(source.file)) this.#files.push(source.file);
    const choices = this.#choose.get(id) ?? {};
    const key = JSON.stringify([place, kind, choices]);
    let known = this.#built.get(key);
    if (known === undefined) {
      const out = new Collector();
      known = { part: build(reference, source, kind, choices, out), out };
      this.#built.set(key, known);
    }
    this.#out.take(known.out);
    const { part } = known;
    return part !== undefined && isKind(part, kind) ? part : undefined;
  }

  /** Reports choices for parts the case does not use: the question would go unanswered. */
  reportUnused(place: Place): void {
    for (const id of this.#choose.keys()) {
      if (this.#asked.has(id)) continue;
      this.#out.report('unknown-part', place, {
        expected: 'a choice for a part this case uses',
        got: quoted(id),
        next: spellingHelp(id, [...this.#asked], 'part'),
      });
    }
  }
}

/** The part of a source as a case refers to it, `choices` overriding those of the case. */
function build(
  reference: PartReference,
  source: SourceFile,
  kind: PartKind,
  choices: Readonly<Record<string, string>>,
  out: Collector,
): Part | undefined {
  const { place } = reference.part;
  const asked = new Map<string, Asked>();
  for (const [name, choice] of Object.entries(reference.options)) {
    asked.set(name, { choice: choice.value, place: choice.place });
  }
  for (const [name, choice] of Object.entries(choices)) {
    asked.set(name, { choice, place: asked.get(name)?.place ?? place });
  }
  const reading = { out, partial: false };
  const override = reference.override && withoutFixed(reference.override, 'case', reading);
  return partFrom(source, asked, override, out, { kind, place });
}

function isKind<K extends PartKind>(part: Part, kind: K): part is Extract<Part, { kind: K }> {
  return part.kind === kind;
}
