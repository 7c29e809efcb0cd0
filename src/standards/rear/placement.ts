/**
 * The names by which a slot profile says where rear I/O of a mezzanine leaves the board:
 * `P1w9-X12d`, `P5w1-X24s+X8d+X12d`. Forms read in the SOSA Technical Standard, Edition 1.0
 * Snapshot 2 (2019), figures 24 and 35; the grammar is that of ANSI/VITA 46.9 from memory.
 */

/** A pattern of a placement, and where its name stands in the text. */
export interface PlacedPattern {
  /** `X12d`. */
  readonly pattern: string;
  /** 1-based. */
  readonly column: number;
}

export interface Placement {
  /** Backplane connector, `P1`. */
  readonly connector: string;
  /** First wafer, counted from 1. */
  readonly wafer: number;
  readonly patterns: readonly PlacedPattern[];
}

/** Why a text is no placement, where it stopped being one. */
export interface PlacementProblem {
  /** 1-based. */
  readonly column: number;
  readonly expected: string;
  readonly got: string;
}

export type ParsedPlacement =
  | { readonly ok: true; readonly value: Placement }
  | { readonly ok: false; readonly problem: PlacementProblem };

function refuse(column: number, expected: string, rest: string): ParsedPlacement {
  const got = rest === '' ? 'the end' : rest.slice(0, 24);
  return { ok: false, problem: { column, expected, got } };
}

/** Reads a placement; no pattern's name is looked up here. */
export function parsePlacement(text: string): ParsedPlacement {
  const head = /^(P\d{1,2})w(\d{1,2})/.exec(text);
  if (head === null || Number(head[2]) === 0) {
    return refuse(1, 'a connector and its first wafer, such as P1w9', text);
  }
  let at = head[0].length;
  const patterns: PlacedPattern[] = [];
  while (at < text.length) {
    const mark = patterns.length === 0 ? '-' : '+';
    if (text[at] !== mark) return refuse(at + 1, `'${mark}' before a pattern`, text.slice(at));
    const name = /^[PX]\d{1,2}[sd]/.exec(text.slice(at + 1));
    if (name === null) return refuse(at + 2, 'a pattern such as X12d or P64s', text.slice(at + 1));
    patterns.push({ pattern: name[0], column: at + 2 });
    at += 1 + name[0].length;
  }
  if (patterns.length === 0) return refuse(at + 1, "'-' and a pattern such as X12d", '');
  return { ok: true, value: { connector: head[1]!, wafer: Number(head[2]), patterns } };
}
