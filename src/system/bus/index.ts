/** Cases on a parallel bus: the public names, one by one. */
export { type Above, aboveBridge } from './above.ts';
export { type BusCase, busCase, type ComeUp, comeUp, modeOf, refusedBus } from './come-up.ts';
export { aloneCost, type Cost, turnCost } from './cost.ts';
export { type BusEvaluation, evaluateBus } from './evaluate.ts';
export { busLimits } from './limits.ts';
export { type BusAt, type BusPlan, busPlan } from './plan.ts';
export { type BusRate, busSustainedAt, cheapest, rateBus } from './rate.ts';
export { type CaseSegment, segmentOf, simulatedCorner } from './segment.ts';
