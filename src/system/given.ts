import type { Basis, Place } from '../model/basis.ts';
import type { Quantity } from '../quantity/index.ts';

/** Which layer supplied a value; precedence is case, then part, then default. */
export type Layer = 'case' | 'part' | 'default';

/** A value with where it comes from and where it is written. */
export interface Given<T> {
  readonly value: T;
  readonly basis: Basis;
  readonly reference?: string;
  readonly place: Place;
  readonly from: Layer;
}

/** A quantity as given: exact, or a range when its low and high differ. */
export type GivenQuantity = Given<Quantity>;
