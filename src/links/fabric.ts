/**
 * The contract every fabric exports. `system/` knows of a fabric only what stands here and switches
 * on no fabric's name. Event rules and capture attribution join it with the simulator and readers.
 */
import type { AccountId } from '../model/accounts.ts';
import type { Direction } from '../model/answer.ts';
import type { FabricId } from '../model/fabrics.ts';
import type { Rational } from '../quantity/index.ts';

/** One stream as one hop sees it. Sizes in bytes, all exact. */
export interface Flow {
  readonly stream: string;
  /** `write`: the requester sends the data up; `read`: it asks, and the data comes down. */
  readonly kind: 'write' | 'read';
  readonly transferBytes: number;
  /** First byte's offset from a 4 KiB boundary, 0..4095. */
  readonly startOffset: number;
  /** Buffer address at or above 4 GiB. */
  readonly wideAddress: boolean;
  /** The engine hands over at most this many bytes at once; packets do not straddle two chunks. */
  readonly chunkBytes?: number;
  /** Largest read request, the smaller of the engine's and the configured limit. */
  readonly requestBytes: number;
  /** Transfers per interrupt; 0 for none. */
  readonly transfersPerInterrupt: number;
  /** Longest payload of one write as the requester makes it: 8 B for an uncached store. */
  readonly writeBytes?: number;
  /** Prefixes in front of every packet of the flow. */
  readonly prefixes?: number;
  /** Virtual channel; 0 when absent. */
  readonly virtualChannel?: number;
  readonly descriptors?: DescriptorTraffic;
}

/** Packets that steer a transfer, beside its data. */
export interface DescriptorTraffic {
  readonly bytes: number;
  /** Data bytes one descriptor covers at most; data packets do not straddle two. */
  readonly covers: number;
  /** Descriptors fetched by one read. */
  readonly fetchBatch: number;
  /** Bytes written back a descriptor; 0 for none. */
  readonly writeBackBytes: number;
  /** Descriptors written back by one write. */
  readonly writeBackBatch: number;
}

/** Charge vectors by account index, whole ticks, one per direction. */
export type Charges = Readonly<Record<Direction, readonly number[]>>;

/** What a cycle of a flow puts on one hop. A cycle is the fewest transfers with whole counts. */
export interface Demand {
  readonly transfers: number;
  /** Payload bytes a cycle. */
  readonly bytes: number;
  readonly charges: Charges;
  /** Sum of `charges` in each direction. */
  readonly wire: Readonly<Record<Direction, number>>;
  /** Packets the requester sends a cycle, and the ticks they take: what an engine's gaps go with. */
  readonly sent: {
    readonly packets: number;
    readonly chunks: number;
    readonly ticks: number;
    /**
     * What the wire stands filled after these packets when the requester pauses after each of them:
     * part of the pause, at most all of it.
     */
    readonly fillTicks: number;
  };
  /** Ticks of the packets that carry the payload, in the payload's direction. */
  readonly carriedTicks: number;
  /**
   * What the wire stands filled after link-layer packets of a direction in which this flow sends
   * nothing else: part of its idle time, never of what others may use.
   */
  readonly linkFill: Readonly<Record<Direction, number>>;
  /**
   * What the wire stands filled between link-layer packets of a direction that carries more of them
   * than packets of this flow: time that it lacks where no other flow's packets go between.
   */
  readonly linkGaps: Readonly<Record<Direction, number>>;
}

/**
 * A window limit: units that are held for a time and come back. All flows of the hop that use the
 * same window share it, and a transfer cannot be shorter than ticks / window.
 */
export interface WindowLimit {
  /** Flows with the same id on the same hop share the window. */
  readonly id: string;
  readonly account: AccountId;
  readonly direction: Direction;
  /** Sum over `transfers` transfers of hold time × units held. */
  readonly ticks: number;
  /** Fewest transfers after which what holds units comes out whole; divides the cycle's. */
  readonly transfers: number;
  /** Units there are. */
  readonly window: number;
  /** Packets that hold units in `transfers` transfers, the units they hold, and their own ticks. */
  readonly holders: { readonly packets: number; readonly units: number; readonly ticks: number };
  readonly cause: string;
}

/** What one hop adds to the round trip of a read request. All ticks. */
export interface ReadTrip {
  readonly requestTicks: number;
  /** All completions of the request. */
  readonly completionTicks: number;
  /** The last completion alone: what store and forward adds on a hop that is not the slowest. */
  readonly lastCompletionTicks: number;
}

/** A kind of request of a cycle, and how many of them it has. */
export interface RequestClass {
  readonly offset: number;
  readonly bytes: number;
  readonly count: number;
}

/** Time a direction loses to clock compensation: `lost` ticks in every `interval`. */
export interface Compensation {
  readonly interval: number;
  readonly lost: number;
  /**
   * True where it falls at fixed times, whatever is under way, and engines that pause work ahead through
   * it: only the wire loses the time. Otherwise it goes behind a packet, and only a pause covers it.
   */
  readonly fixed?: boolean;
}

/**
 * Time a direction loses to something rare, on average: `lost` ticks in every `interval`, beside clock
 * compensation. Replays after bit errors are the case in hand.
 */
export interface Loss {
  readonly account: AccountId;
  readonly interval: number;
  readonly lost: number;
}

/** How a parameter acts on a rate: more of it helps, hurts, or depends (then it is scanned). */
export type Effect = 'raises' | 'lowers' | 'depends';

export interface Parameter {
  readonly id: string;
  readonly title: string;
  readonly effect: Effect;
}

export interface Fabric<Config> {
  readonly id: FabricId;
  readonly accounts: readonly AccountId[];
  /** What the model leaves out, a sentence each, with the size of the error where known. */
  readonly leavesOut: readonly string[];
  readonly params: readonly Parameter[];
  /** Seconds a tick: every charge of every account is a whole number of them. */
  tick(config: Config): Rational;
  /** `2.5 GT/s x4`. */
  describe(config: Config): string;
  compensation(config: Config): Compensation;
  /** Other time that no packet can use; empty when there is none. */
  losses(config: Config): readonly Loss[];
  /** @param flipped the requester sits at the upper end: the ends' Ack counts change places */
  demand(flow: Flow, config: Config, flipped?: boolean): Demand;
  /**
   * Limits that this hop alone sets: credits.
   * @param flipped the requester sits at the upper end, so the lower end's credits count
   */
  limits(flow: Flow, config: Config, flipped: boolean): readonly WindowLimit[];
  /** Read requests of one transfer by size, and the ticks one takes on this hop. */
  requests(flow: Flow, config: Config): readonly RequestClass[];
  readTrip(request: RequestClass, flow: Flow, config: Config): ReadTrip;
  /** The same hop at the cheapest legal choice, for this flow, of all that the standard leaves open. */
  cheapest(config: Config, flow: Flow): Config;
}
