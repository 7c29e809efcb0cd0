/** Steps that registers show: the Link, then numbers, addresses and identity. */
import {
  busText,
  expressValue,
  headerValue,
  rateText,
  registerValue,
  shortAddress,
} from '../topology/index.ts';
import { found, LINK_UP, open, out, type PortFacts, type StepRow } from './facts.ts';

const AFTER = 'follows once the Link is up';

function portAnswers({ port }: PortFacts) {
  if (port.kind === 'no answer') return found(`${shortAddress(port)} itself reads as ones`);
  const register = 'Power Management Control/Status';
  const state = registerValue(port, 'PCI Power Management', register, 'PowerState') ?? 0;
  if (state !== 0) return found(`${shortAddress(port)} is in D${state}: it passes nothing on`);
  return out(`${shortAddress(port)} answers and is in D0`);
}

function training({ port, up }: PortFacts) {
  if (expressValue(port, 'Link Control', 'Link Disable') === 1) {
    return found('Link Disable is set in Link Control');
  }
  if (expressValue(port, 'Link Control 2', 'Enter Compliance') === 1) {
    return found('Enter Compliance is set in Link Control 2');
  }
  if (up === true) return out(LINK_UP);
  if (expressValue(port, 'Link Status', 'Link Training') === 1) {
    return found(
      'Link Training is set in Link Status: both ends are there, and training does not end',
    );
  }
  return open('the training state machine is not visible in registers');
}

function active({ port, up }: PortFacts) {
  if (up === true) {
    const speed = expressValue(port, 'Link Status', 'Current Link Speed') ?? 0;
    const width = expressValue(port, 'Link Status', 'Negotiated Link Width') ?? 0;
    return out(`the Link is up, ${rateText({ speed, width })}`);
  }
  if (up === false) {
    return found(
      'Data Link Layer Link Active is 0: the Link is down, for one of the reasons above',
    );
  }
  return open('the port does not report Data Link Layer Link Active');
}

function buses({ port, up }: PortFacts) {
  const { secondary = 0, subordinate = 0 } = port.buses ?? {};
  if (up === false) return open(AFTER);
  if (secondary === 0)
    return found('the port has no secondary bus number: nothing below is looked for');
  if (subordinate < secondary) return found('subordinate is below secondary: nothing is passed on');
  return out(`${busText(port.at.domain, secondary)} is assigned`);
}

function windows({ port, up, answering }: PortFacts) {
  if (up === false) return open(AFTER);
  const unplaced = answering.find(
    (n) => n.fn.structures[0]?.id === 0 && n.fn.baseAddresses.length === 0,
  );
  if (unplaced !== undefined) {
    return found(`${shortAddress(unplaced)} has no address in any base address register`);
  }
  const memory = (port.fn.windows ?? []).filter((w) => w.name !== 'I/O');
  const shut = memory.length > 0 && memory.every((w) => w.range === undefined);
  const off = headerValue(port, 'Command', 'Memory Space Enable') === 0;
  if (shut)
    return open('no memory window is open below the port: a function there gets no addresses');
  if (off) return open('Memory Space Enable of the port is off');
  return out('a memory window is open below the port');
}

function identity({ seen, answering, up }: PortFacts) {
  if (up === false) return open(AFTER);
  const dumb = seen.find((n) => n.kind === 'no answer');
  if (dumb !== undefined) return found(`${shortAddress(dumb)} reads as ones`);
  const odd = answering.find(
    (n) => n.fn.classCode?.startsWith('0000') || n.fn.classCode?.startsWith('ff'),
  );
  if (odd !== undefined) {
    return found(
      `${shortAddress(odd)} answers with class code ${odd.fn.classCode}, which no driver asks for`,
    );
  }
  if (answering.length > 0) {
    const [first] = answering;
    return out(
      `${shortAddress(first!)} answers with class code ${first!.fn.classCode ?? 'unknown'}`,
    );
  }
  return open('no function below the port is in the dump');
}

function hidden({ answering, up }: PortFacts) {
  if (up === false) return open(AFTER);
  if (answering.length > 0) return out('the dump shows it');
  return open(
    'the system may hide or have removed it, or it still answers with Request Retry Status',
  );
}

/** The port itself, before anything else. */
export const portStep: StepRow = {
  id: 'port',
  title: 'the port above',
  clause: 'PCI Express Base Specification 6.3 §5.3.1, §7.5.2.2 (from memory)',
  measure: 'wake or bring up the port, and dump again',
  look: portAnswers,
};

/** In the order in which to look. */
export const logicalSteps: readonly StepRow[] = [
  {
    id: 'training',
    title: 'Link training',
    clause: 'PCI Express Base Specification 6.3 §4.2.6, §7.5.3.7, §7.5.3.19 (from memory)',
    measure:
      'the training state of the module (its status register or a debug output), or ' +
      'the lanes with an analyser: in Detect there is no receiver seen, in Polling ' +
      'no symbols lock',
    look: training,
  },
  {
    id: 'link-active',
    title: 'Data Link Layer',
    clause: 'PCI Express Base Specification 6.3 §7.5.3.8 (from memory)',
    measure: 'Link Status of the port, read over and over during power-up',
    look: active,
  },
  {
    id: 'bus-numbers',
    title: 'bus numbers',
    clause: 'PCI Express Base Specification 6.3 §7.5.1.3 (from memory)',
    measure:
      'let the system number its buses again with the card ready (rescan, or a warm ' +
      'reset), and dump again',
    look: buses,
  },
  {
    id: 'windows',
    title: 'windows and address space',
    clause: 'PCI Express Base Specification 6.3 §7.5.1.2.1, §7.5.1.3.8 (from memory)',
    measure:
      'what the system logs of address space it could not assign; reserve more for ' +
      'the port in firmware',
    look: windows,
  },
  {
    id: 'identity',
    title: 'identity',
    clause: 'PCI Express Base Specification 6.3 §2.3.2, §7.5.1.1.6 (from memory)',
    measure:
      'Vendor ID and Class Code of device 0, function 0 on the bus below the port, ' +
      'read again one second after reset',
    look: identity,
  },
  {
    id: 'hidden',
    title: 'hidden or disabled',
    clause: 'PCI Express Base Specification 6.3 §2.3.1 (from memory)',
    measure:
      'rescan below the port, then dump with all rights; look for firmware options ' +
      'that hide the slot',
    look: hidden,
  },
];
