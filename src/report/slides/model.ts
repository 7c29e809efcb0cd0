/** A briefing as the writer of slides takes it: all of it data, words from outside as plain strings. */
import type { Level } from '../../model/finding.ts';

export interface SlideLine {
  readonly text: string;
  /** Drawn as a mark in front of the line. */
  readonly level?: Level;
}

export interface Slide {
  readonly title: string;
  /** What a person reads from the back of the room: few and short. */
  readonly lines: readonly SlideLine[];
  /** One figure as SVG, and its words for those who cannot see it. */
  readonly figure?: { readonly svg: string; readonly description: string };
  /** Arithmetic and sources for the speaker, a paragraph each. */
  readonly notes: readonly string[];
}

export interface Briefing {
  readonly title: string;
  readonly question: string;
  /** At the foot of every slide. */
  readonly foot: string;
  readonly slides: readonly Slide[];
}
