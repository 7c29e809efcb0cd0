/** Steps before a Link can train: what a meter or an oscilloscope shows. */
import { expressValue, headerValue } from '../topology/index.ts';
import {
  found,
  fromCase,
  LINK_UP,
  open,
  out,
  type PortFacts,
  type StepRow,
  slotValue,
} from './facts.ts';

/** Rules of the fit that speak of each step. */
const rules = {
  presence: ['connector-present', 'connector-family', 'pin-presence'],
  supplies: [
    'supply',
    'vpwr-voltage',
    'inrush',
    'rail-order',
    'supply-dip',
    'total-power',
    'slot-power',
    'pin-power',
    'pin-ground',
  ],
  clock: ['reference-clock'],
  reset: ['reset-pulse'],
  roles: ['roles', 'protocol', 'pin-drive'],
  lanes: [
    'lanes',
    'line-rate',
    'pin-lanes',
    'pin-pair',
    'lane-reversal',
    'first-lane',
    'bifurcation',
    'lane-routing',
    'channel-loss',
  ],
  start: ['start-up'],
} as const;

const NO_REGISTER = 'no register shows it, and no case says it';

function presence(facts: PortFacts) {
  if (facts.up === true) return out(LINK_UP);
  const component = expressValue(facts.port, 'Link Status 2', 'Downstream Component Presence');
  if (component === 2) return out('Downstream Component Presence: Link down, present');
  if (component === 1) return found('Downstream Component Presence: Link down, not present');
  const state = slotValue(facts, 'Slot Status', 'Presence Detect State');
  if (state === 0) return found('Presence Detect State: slot empty');
  if (state === 1) return out('Presence Detect State: adapter present');
  return fromCase(
    facts,
    rules.presence,
    'the port has no slot registers: presence goes to the carrier alone',
  );
}

function supplies(facts: PortFacts) {
  const controlled = slotValue(facts, 'Slot Capabilities', 'Power Controller Present') === 1;
  const off = slotValue(facts, 'Slot Control', 'Power Controller Control') === 1;
  if (controlled && off) return found('Power Controller Control: power off');
  if (facts.up === true) return out(LINK_UP);
  if (slotValue(facts, 'Slot Status', 'Power Fault Detected') === 1) {
    return found('Power Fault Detected is set in Slot Status');
  }
  return fromCase(facts, rules.supplies, NO_REGISTER);
}

const linkUpOr = (ids: readonly string[]) => (facts: PortFacts) =>
  facts.up === true ? out(LINK_UP) : fromCase(facts, ids, NO_REGISTER);

function reset(facts: PortFacts) {
  if (headerValue(facts.port, 'Bridge Control', 'Secondary Bus Reset') === 1) {
    return found(
      'Secondary Bus Reset is set in Bridge Control: the port holds what is below in reset',
    );
  }
  return linkUpOr(rules.reset)(facts);
}

function lanes(facts: PortFacts) {
  if (facts.up === true) return out(LINK_UP);
  const width = expressValue(facts.port, 'Link Capabilities', 'Maximum Link Width');
  const said = fromCase(facts, rules.lanes, NO_REGISTER);
  if (said.standing !== 'open' || width === undefined) return said;
  return open(`${said.because}; the port is x${width} as it is divided now`);
}

/** In the order in which to look. */
export const electricalSteps: readonly StepRow[] = [
  {
    id: 'presence',
    title: 'presence',
    clause: 'PCI Express Base Specification 6.3 §7.5.3.11; ANSI/VITA 42.0 MPRESENT# (from memory)',
    measure:
      'MPRESENT# at the carrier side of the connector with the module seated: low; ' +
      'else reseat it and look at the connector',
    look: presence,
  },
  {
    id: 'supplies',
    title: 'supplies',
    clause: 'ANSI/VITA 42.0 (from memory); PCI Express Base Specification 6.3 §7.5.3.10',
    measure:
      'every supply of the site at the module, with the module seated and within ' +
      '100 ms of power-up: none outside its tolerance, none folding back',
    look: supplies,
  },
  {
    id: 'reference-clock',
    title: 'reference clock',
    clause: 'PCI Express Base Specification 6.3 §8.6 (from memory)',
    measure:
      'the reference clock pair at the module with a differential probe: 100 MHz, ' +
      'running before reset is released',
    look: linkUpOr(rules.clock),
  },
  {
    id: 'reset',
    title: 'reset',
    clause: 'PCI Express Base Specification 6.3 §6.6.1, §7.5.1.3.13 (from memory)',
    measure: 'the reset input at the module: released, once, after supplies and clock are stable',
    look: reset,
  },
  {
    id: 'roles',
    title: 'roles of the two ends',
    clause: 'PCI Express Base Specification 6.3 §1.3 (from memory)',
    measure:
      'the strap or build of the module and of the carrier port: one root or ' +
      'downstream side, one endpoint',
    look: linkUpOr(rules.roles),
  },
  {
    id: 'lanes',
    title: 'lanes and bifurcation',
    clause: 'PCI Express Base Specification 6.3 §4.2.6.3 (from memory)',
    measure:
      'the bifurcation that firmware sets for the port against the lanes wired to ' +
      'the site, lane 0 first',
    look: lanes,
  },
  {
    id: 'power-up-time',
    title: 'time to be ready after reset',
    clause:
      'PCI Express Base Specification 6.3 §6.6.1: 20 ms to Link training, 100 ms to ' +
      'configuration (from memory)',
    measure:
      'the time from stable supplies to the module configured, beside the release ' +
      'of reset; as a trial, reset the host warm: a card seen then was late',
    look: linkUpOr(rules.start),
  },
];
