/** What a person states beside the evidence of a calibration. */
import type { CalibrateOptions } from '../insight/calibrate/index.ts';
import type { Adapter, IdentityKey } from '../system/calibration.ts';

/** Date, identity and wishes of a calibration. */
export interface CalibrateWish extends CalibrateOptions {
  /** Day of the measurement, `2026-11-25`; never taken from a clock. */
  readonly date: string;
  readonly identity?: Readonly<Partial<Record<IdentityKey, string>>> & {
    readonly adapter?: Adapter;
  };
  /** Id for the saved part of the module; the module's own when absent. */
  readonly id?: string;
  /** Take in the measurements that the case states with its streams; true when absent. */
  readonly stated?: boolean;
}
