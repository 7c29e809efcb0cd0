import { Kernel, type RandomStream } from '../../src/kernel/index.ts';

/** Mean service time, ticks: so long that rounding to whole ticks is a millionth of it. */
export const serviceTicks = 1 << 20;

/** What one run of an open queue gave; times in mean service times. */
export interface OpenRun {
  /** Mean time from arrival to start of service, of the customers served. */
  readonly wait: number;
  /** Mean time from arrival to departure. */
  readonly stay: number;
  /** Share of served customers who did not wait. */
  readonly unhindered: number;
  /** Share of served customers who stayed longer than `longer`. */
  readonly late: number;
  /** Share of arrivals that found the system full. */
  readonly lost: number;
  /** Time average of the number in the system. */
  readonly number: number;
}

export interface OpenQueue {
  readonly load: number;
  readonly service: 'exponential' | 'constant';
  /** Most customers in the system, the one in service included. */
  readonly room?: number;
  /** Arrivals, after as many as a tenth of them that are not counted. */
  readonly customers: number;
  /** Start with a number in the system drawn from its stationary distribution (M/M/1 only). */
  readonly stationary?: boolean;
  readonly longer?: number;
}

const nothing = {
  inSystem: 0,
  came: 0,
  started: 0,
  left: 0,
  counted: 0,
  waited: 0,
  stayed: 0,
  unhindered: 0,
  late: 0,
  lost: 0,
  arrived: 0,
  area: 0,
  since: 0,
  from: 0,
};

/** One server, first come first served, Poisson arrivals, on a kernel of the given seed. */
export function runOpen(seed: number, queue: OpenQueue): OpenRun {
  const kernel = new Kernel({ seed });
  const arrivals = kernel.stream();
  const services = kernel.stream();
  const between = serviceTicks / queue.load;
  const room = queue.room ?? Infinity;
  const places = 1 << 12;
  const longer = (queue.longer ?? 0) * serviceTicks;
  const cameAt = new Float64Array(places);
  const warmUp = queue.stationary ? 0 : Math.floor(queue.customers / 10);
  // One object, not captured variables: V8 keeps the doubles of an object in place.
  const s = { ...nothing };
  const counting = () => s.arrived > warmUp;
  const level = (change: number) => {
    if (counting()) s.area += s.inSystem * (kernel.now - s.since);
    s.since = kernel.now;
    s.inSystem += change;
  };
  const serve = () => {
    const wait = kernel.now - cameAt[s.started++ % places]!;
    if (counting()) {
      s.waited += wait;
      if (wait === 0) s.unhindered++;
    }
    if (queue.service === 'constant') constant.send(departure);
    else kernel.scheduleAfter(services.exponential(serviceTicks), departure);
  };
  const enter = () => {
    if (s.inSystem >= places) throw new Error('the queue outgrew its table');
    cameAt[s.came++ % places] = kernel.now;
    level(1);
    if (s.inSystem === 1) serve();
  };
  const constant = kernel.delayLine(serviceTicks);
  const departure = kernel.register(() => {
    const stay = kernel.now - cameAt[s.left++ % places]!;
    if (counting()) {
      s.counted++;
      s.stayed += stay;
      if (stay > longer) s.late++;
    }
    level(-1);
    if (s.inSystem > 0) serve();
  });
  const arrival: number = kernel.register(() => {
    if (++s.arrived === warmUp + 1) s.from = s.since = kernel.now;
    if (s.arrived === warmUp + queue.customers) kernel.pause();
    if (s.inSystem < room) enter();
    else if (counting()) s.lost++;
    kernel.scheduleAfter(arrivals.exponential(between), arrival);
  });
  if (queue.stationary) {
    const start = kernel.stream();
    while (start.chance(queue.load)) enter();
  }
  kernel.scheduleAfter(arrivals.exponential(between), arrival);
  kernel.run();
  level(0);
  return {
    wait: s.waited / s.counted / serviceTicks,
    stay: s.stayed / s.counted / serviceTicks,
    unhindered: s.unhindered / s.counted,
    late: s.late / s.counted,
    lost: s.lost / queue.customers,
    number: s.area / (kernel.now - s.from),
  };
}

/** A station of a closed network: mean service time, and servers (Infinity for a pure delay). */
export interface Station {
  readonly mean: number;
  readonly servers: number;
}

export interface ClosedNetwork {
  readonly stations: readonly Station[];
  /** Where a customer goes next: for each station the chances of all stations. */
  readonly routes: readonly (readonly number[])[];
  readonly customers: number;
}

/** Number at, departures a time unit from, and mean time at each station. */
export interface ClosedRun {
  readonly number: readonly number[];
  readonly throughput: readonly number[];
  readonly stay: readonly number[];
}

/**
 * A closed network of exponential servers for `departures` of them, a tenth more before counting.
 * One time unit is `serviceTicks`. Customers are alike and service has no memory, so the numbers at
 * the stations are the whole state.
 */
export function runClosed(seed: number, network: ClosedNetwork, departures: number): ClosedRun {
  const { stations, routes } = network;
  const kernel = new Kernel({ seed });
  const services: RandomStream[] = stations.map(() => kernel.stream());
  const routing = kernel.stream();
  const at = stations.map(() => 0);
  const since = stations.map(() => 0);
  const area = stations.map(() => 0);
  const gone = stations.map(() => 0);
  let from = 0;
  let counting = false;
  const level = (station: number, change: number) => {
    if (counting) area[station]! += at[station]! * (kernel.now - since[station]!);
    since[station] = kernel.now;
    at[station]! += change;
  };
  const serve = (station: number) => {
    const time = services[station]!.exponential(stations[station]!.mean * serviceTicks);
    kernel.scheduleAfter(time, departure, station);
  };
  const enter = (station: number) => {
    level(station, 1);
    if (at[station]! <= stations[station]!.servers) serve(station);
  };
  const departure = kernel.register((station) => {
    gone[station]!++;
    level(station, -1);
    if (at[station]! >= stations[station]!.servers) serve(station);
    let left = routing.uniform();
    const chances = routes[station]!;
    let next = 0;
    while (next < chances.length - 1 && left >= chances[next]!) left -= chances[next++]!;
    enter(next);
  });
  for (let i = 0; i < network.customers; i++) enter(0);
  kernel.run(Math.floor(departures / 10));
  for (let i = 0; i < stations.length; i++) level(i, 0);
  gone.fill(0);
  counting = true;
  from = kernel.now;
  kernel.run(departures);
  for (let i = 0; i < stations.length; i++) level(i, 0);
  const span = kernel.now - from;
  return {
    number: area.map((sum) => sum / span),
    throughput: gone.map((count) => (count * serviceTicks) / span),
    stay: area.map((sum, i) => sum / gone[i]! / serviceTicks),
  };
}
