import type { Answer, AnswerPart } from './answer.ts';
import type { Finding, Level } from './finding.ts';
import type { PinSide } from './pins.ts';

/** A pin that a new module uses otherwise than the one it replaces. */
export interface PinChange {
  readonly connector: string;
  readonly pin: string;
  /** Contact of the backplane that the cables are made for. */
  readonly contact?: string;
  readonly before?: PinSide;
  readonly after?: PinSide;
  readonly level: Level;
  readonly why: string;
}

/** A value that both modules have, as text; absent where a part does not state it. */
export interface ReplacedValue {
  readonly name: string;
  readonly before?: string;
  readonly after?: string;
}

/** A finding of the fit whose level the new module changes; absent where it is not asked. */
export interface FitChange {
  readonly id: string;
  readonly before?: Level;
  readonly after?: Level;
}

/** The document of `replace`: a new module on the same carrier, backplane and cables. */
export interface Replacement {
  readonly schema: 'lanewright.replace/1';
  readonly tool: Answer['tool'];
  readonly case: Answer['case'];
  readonly inputs: Answer['inputs'];
  readonly before: AnswerPart;
  readonly after: AnswerPart;
  readonly verdict: {
    readonly level: Level;
    readonly summary: string;
    readonly decide: string;
  };
  /** What the change itself means: connectors, pins, rails, power, link. */
  readonly findings: readonly Finding[];
  /** The new module's own fit, what is not `ok`. */
  readonly fit: readonly Finding[];
  readonly pins: readonly PinChange[];
  readonly values: readonly ReplacedValue[];
  readonly changed: readonly FitChange[];
  /** What is not compared. */
  readonly limits: readonly string[];
  readonly cautions: readonly string[];
}
