/** A stack of two boards in numbers, and its layers from the carrier's outer side upwards. */

/** A length in millimetres, stated or not. */
export interface Dimension {
  readonly millimetres: number;
  /** False where it is a usual value that nobody stated. */
  readonly stated: boolean;
}

/** One board of the stack. Heights are of the tallest part on each side. */
export interface StackBoard {
  readonly name: string;
  readonly thickness: Dimension;
  /** Towards the other board. */
  readonly inner: Dimension;
  readonly outer: Dimension;
}

export interface StackFigure {
  readonly title: string;
  readonly subtitle?: string;
  readonly carrier: StackBoard;
  readonly module: StackBoard;
  /** Board to board. */
  readonly stack: Dimension;
  /** Slot to slot; nothing is drawn of it where it is not stated. */
  readonly pitch?: number;
  readonly width: Dimension;
  readonly length: Dimension;
  /** Positions fitted, such as `P15`; where on the board they sit is not known to this figure. */
  readonly connectors: readonly string[];
}

export interface Layer {
  readonly kind: 'board' | 'parts' | 'room';
  /** The board it belongs to; neither for the stack. */
  readonly of: 'carrier' | 'module' | 'both';
  readonly words: string;
  readonly millimetres: number;
  readonly stated: boolean;
  /** Millimetres from the outermost part of the carrier to its lower edge. */
  readonly from: number;
  /** Whether it adds to the height; parts between the boards share the stack. */
  readonly counts: boolean;
}

/** CSS pixels of a millimetre: 96 to the inch of 25.4 mm. */
export const pixelsPerMillimetre = 96 / 25.4;

/** A length as a drawing has it, to a hundredth. */
export const lengthText = (millimetres: number) => `${Math.round(millimetres * 100) / 100} mm`;

/** Outer parts, board, stack with the parts in it, board, outer parts. */
export function layersOf(data: StackFigure): readonly Layer[] {
  const { carrier, module, stack } = data;
  const layers: Layer[] = [];
  let at = 0;
  const push = (
    kind: Layer['kind'],
    of: Layer['of'],
    words: string,
    d: Dimension,
    inside?: number,
  ) => {
    const { millimetres, stated } = d;
    const counts = inside === undefined;
    layers.push({ kind, of, words, millimetres, stated, from: inside ?? at, counts });
    if (counts) at += millimetres;
  };
  push('parts', 'carrier', `outer parts of ${carrier.name}`, carrier.outer);
  push('board', 'carrier', `board of ${carrier.name}`, carrier.thickness);
  const floor = at;
  push('room', 'both', 'stack', stack);
  push('parts', 'carrier', `inner parts of ${carrier.name}`, carrier.inner, floor);
  const under = floor + stack.millimetres - module.inner.millimetres;
  push('parts', 'module', `inner parts of ${module.name}`, module.inner, under);
  push('board', 'module', `board of ${module.name}`, module.thickness);
  push('parts', 'module', `outer parts of ${module.name}`, module.outer);
  return layers;
}

/** From the carrier's outermost part to the module's. */
export function totalHeight(layers: readonly Layer[]): number {
  return layers.filter((l) => l.counts).reduce((sum, l) => sum + l.millimetres, 0);
}

/** By how much the parts inside take more than the stack; 0 where they pass. */
export function overlap({ carrier, module, stack }: StackFigure): number {
  const inside = carrier.inner.millimetres + module.inner.millimetres;
  return Math.max(0, Math.round((inside - stack.millimetres) * 1e6) / 1e6);
}
