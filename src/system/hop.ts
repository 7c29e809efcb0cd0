/** What a hop is built from and what comes out; `hops.ts` lists the builders. */
import type { Fabric } from '../links/fabric.ts';
import type { Assumption, Rounding } from '../model/answer.ts';
import type { Rational } from '../quantity/index.ts';
import type { DefaultContext } from '../standards/defaults.ts';
import type { Settings } from './case.ts';
import type { Corner, Parameters } from './parameters.ts';
import type { PcieFunction } from './parts.ts';

/** A port at one end of a hop, and the name of the part it is on. */
export interface Port {
  readonly owner: string;
  readonly pcie: PcieFunction | undefined;
  /**
   * True for a port of a switch: completions pass it on their way to others, so the credits that it
   * grants for them are finite.
   */
  readonly forwards?: boolean;
}

/** What a change asked of a path overrides; used to say what a change would bring. */
export interface Change {
  readonly maxPayload?: number;
  /** The hop whose generation or width changes, module side first; every hop when absent. */
  readonly hop?: number;
  readonly generation?: number;
  readonly width?: number;
}

export interface HopRequest {
  readonly lower: Port;
  readonly upper: Port;
  /** The part that completes reads: its completions cross every hop as they are. */
  readonly completer: Port;
  /** Lanes wired between the two ports where a carrier limits them. */
  readonly wired?: number;
  /** True where requesters sit at the upper end too, so that the lower end's credits count. */
  readonly bothWays?: boolean;
  /** Virtual channels in use besides 0; ports that say nothing of one get its default credits. */
  readonly channels?: readonly number[];
  readonly settings: Settings;
  /** Max_Payload_Size of the whole path, bytes. */
  readonly maxPayload: number;
  readonly change: Change;
  readonly parameters: Parameters;
}

export interface BuiltHop {
  readonly fabric: Fabric<unknown>;
  readonly tick: Rational;
  readonly requestLimit: number;
  /** Bits a second each way, line code taken off. */
  readonly bitsPerSecond: number;
  /** What defaults of parts next to this hop may depend on. */
  readonly context: DefaultContext;
  readonly roundings: readonly Rounding[];
  configure(corner: Corner): unknown;
  /** What was decided from the two ends, for the answer. */
  readonly decided: readonly Assumption[];
}
