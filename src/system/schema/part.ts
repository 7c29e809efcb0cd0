/** The keys of part files, kind by kind. */
import type {
  CarrierPart,
  CarrierSite,
  Connector,
  HostPart,
  ModulePart,
  PartKind,
  RailDemand,
  SlotPart,
  SwitchPart,
} from '../parts.ts';
import { connectorFamilies, connectorIds, protocols, rails } from '../parts.ts';
import type { PinUses } from '../pins.ts';
import { isValueForm } from '../text/merge.ts';
import { calibration } from './calibration.ts';
import { checkDemand } from './check-order.ts';
import { dma } from './dma.ts';
import { processor, translation } from './host.ts';
import { fileJson, optionsJson } from './json.ts';
import { checkLatency, latencyDistribution } from './latency.ts';
import { given, plain, textRule } from './leaf.ts';
import { bridgeBus, cardBus, siteBus } from './pci.ts';
import { pcie } from './pcie.ts';
import { carrierPins, checkPinNames, modulePins } from './pins.ts';
import { rear } from './rear.ts';
import { choiceRule, nameRule, quantityRule, wholeRule } from './rules.ts';
import { flag, generation, pause, width } from './scalars.ts';
import { carrierSeatFields, hostStart, moduleSeatFields, siteSeatFields } from './seating.ts';
import {
  checked,
  type Fields,
  fallback,
  type JsonSchema,
  list,
  named,
  object,
  optional,
  record,
  required,
  type Shape,
} from './shape.ts';
import { moduleSignals, siteSignals } from './signals.ts';
import { carrierHeatFields, enduranceFields, hotParts, surroundingsFields } from './thermal.ts';

export const partKinds = ['module', 'carrier', 'host', 'switch', 'slot'] as const;

const current = given(quantityRule('current', 'a current', { least: '0 A' }));
const power = given(quantityRule('power', 'a power', { least: '0 W' }));
const height = given(quantityRule('length', 'a height', { least: '0 mm' }));
const voltage = given(quantityRule('voltage', 'a voltage', { above: '0 V' }));
const cooling = given(choiceRule(['air', 'conduction'], 'a cooling'));
const outline = given(choiceRule(['single', 'double'], 'an outline'));

const connectorFields: Omit<Fields<Connector>, 'pins'> = {
  family: required(given(choiceRule(connectorFamilies, 'a connector family')), 'Connector family.'),
  carries: required(given(choiceRule(protocols, 'a protocol')), 'What runs over its pins.'),
  lanes: optional(given(wholeRule('a number of lanes', 1, 20)), 'Serial lanes used or wired.'),
  rated_line_rate: optional(
    given(quantityRule('transfer rate', 'a line rate', { above: '0 T/s' })),
    "Line rate its maker states; otherwise the family's.",
  ),
  signals: optional(given(wholeRule('a number of signals', 0, 200)), 'User I/O signals.'),
};
function connectorsWith(pins: Shape<PinUses>) {
  const about = 'What the board does with single pins.';
  const connector = object<Connector>({ ...connectorFields, pins: optional(pins, about) });
  return checked(record(connectorIds, 'connector', connector), checkPinNames);
}

const bothCurrents: Shape<RailDemand> = object<RailDemand>({
  continuous: required(current, 'Continuous current.'),
  peak: optional(current, 'Peak current.'),
});
const fullDemand = checked(bothCurrents, checkDemand);
/** `2.2 A` alone is the continuous current. */
const demand: Shape<RailDemand> = {
  read(tree, reading) {
    if (tree.kind === 'map' && !isValueForm(tree)) return fullDemand.read(tree, reading);
    const continuous = current.read(tree, reading);
    return continuous && { continuous };
  },
  json: (partial) => ({ anyOf: [current.json(partial), fullDemand.json(partial)] }),
};
const supplies = record(rails, 'rail', demand);

const site: Shape<CarrierSite> = object<CarrierSite>({
  outline: required(outline, 'Outline it takes.'),
  cooling: required(cooling, 'Cooling of this build.'),
  stacking_height: required(height, 'Carrier to module, between the boards.'),
  part_height: optional(height, 'Tallest carrier part under the module.'),
  connectors: required(connectorsWith(carrierPins), 'What is wired to each connector.'),
  rear: optional(rear, 'Where P14 and P16 leave the board.'),
  vpwr: optional(voltage, 'Voltage on VPWR.'),
  supplies: fallback(supplies, () => ({}), 'Current available per rail.'),
  total_power: optional(power, 'Continuous power for the module, all rails.'),
  pci: optional(siteBus, 'The parallel bus that reaches the site.'),
  signals: optional(siteSignals, 'Clock, reset, presence, test and management.'),
  through: fallback(
    list(given(nameRule('a part id')), 16),
    () => [],
    'Switches between the site and the host, nearest the module first.',
  ),
  ...siteSeatFields,
});

/** A part without the options chosen, which the reader adds. */
export type Body<P> = Omit<P, 'options'>;

function head<K extends PartKind>(kind: K) {
  return {
    kind: required(plain(choiceRule([kind], 'the kind')), 'What the file describes.'),
    id: required(plain(nameRule('a part id')), 'Unique among the parts.'),
    title: required(plain(textRule('a title')), 'For people.'),
  };
}

const modulePart: Fields<Body<ModulePart>> = {
  ...head('module'),
  form: required(given(choiceRule(['XMC', 'PMC'], 'a form')), 'Mezzanine form.'),
  outline: required(outline, 'Single or double.'),
  cooling: required(cooling, 'Cooling of this build.'),
  stacking_height: required(height, 'Carrier to module, between the boards.'),
  side1_height: optional(height, 'Tallest part on the side that faces the carrier.'),
  connectors: required(connectorsWith(modulePins), 'What each connector carries.'),
  pcie: optional(pcie, 'Its PCI Express port.'),
  pci: optional(cardBus, 'How it drives a parallel bus.'),
  signals: optional(moduleSignals, 'Clock, reset, presence, test and management.'),
  dma: optional(dma, 'Its DMA engine.'),
  calibration: optional(calibration, 'How its measured values were measured.'),
  vpwr_accepts: optional(voltage, 'Voltages accepted on VPWR, such as 4.75..12.6 V.'),
  supplies: fallback(supplies, () => ({}), 'Current drawn per rail.'),
  hot_parts: optional(hotParts, 'Parts whose temperature matters, by name.'),
  ...moduleSeatFields,
  ...enduranceFields,
};
const carrierPart: Fields<Body<CarrierPart>> = {
  ...head('carrier'),
  board: required(plain(textRule('a board form')), 'For people, such as 3U VPX.'),
  sites: required(named('site name', site), 'Mezzanine sites by name.'),
  ...carrierSeatFields,
  ...carrierHeatFields,
  ...enduranceFields,
};
const hostPart: Fields<Body<HostPart>> = {
  ...head('host'),
  pcie: required(pcie, 'Its root port.'),
  start: optional(hostStart, 'When it first looks for devices.'),
  read_latency_distribution: optional(
    latencyDistribution,
    'Distribution of the time a read takes, in place of read_latency.',
  ),
  remote_latency: optional(pause, 'Added to reads of memory on the other processor socket.'),
  translation: optional(translation, 'Address translation for devices, where it is on.'),
  processor: optional(processor, 'What a processor does when it moves the data itself.'),
  calibration: optional(calibration, 'How its measured values were measured.'),
};
const switchPart: Fields<Body<SwitchPart>> = {
  ...head('switch'),
  pcie: required(pcie, 'Its ports.'),
  upstream: optional(
    object<NonNullable<SwitchPart['upstream']>>({
      generation: required(generation, 'Generation towards the host.'),
      width: required(width, 'Width towards the host.'),
    }),
    'The port towards the host, when it differs.',
  ),
  latency: optional(pause, 'Time through the switch, each way.'),
  forwarding: optional(
    given(choiceRule(['cut-through', 'store and forward'], 'a way of forwarding')),
    'Whether it sends before a packet has arrived whole.',
  ),
  non_transparent: optional(flag, 'Whether it joins two address domains.'),
  bridge: optional(bridgeBus, 'Its PCI side, where it is a bridge to a parallel bus.'),
};
const slotPart: Fields<Body<SlotPart>> = {
  ...head('slot'),
  cooling: required(cooling, 'Cooling the slot offers.'),
  total_power: optional(power, 'Power the slot may take.'),
  supplies: optional(supplies, 'Current available per rail.'),
  pitch: optional(given(quantityRule('length', 'a pitch', { above: '0 mm' })), 'Slot pitch.'),
  ...surroundingsFields,
};

export type AnyBody =
  | Body<ModulePart>
  | Body<CarrierPart>
  | Body<HostPart>
  | Body<SwitchPart>
  | Body<SlotPart>;

/** A part file's shape. */
function partFile<T>(fields: Fields<T>): Shape<T> {
  return object<T>(fields, { ...fileJson('part/1'), options: optionsJson(partialJson(fields)) });
}

/** The keys of a part with none of them demanded: what a choice or an override may hold. */
function partialJson<T>(fields: Fields<T>): JsonSchema {
  return object<T>(fields).json(true);
}

/** The shape of each kind of part. */
export const partShapes = {
  module: partFile<Body<ModulePart>>(modulePart),
  carrier: partFile<Body<CarrierPart>>(carrierPart),
  host: checked(partFile<Body<HostPart>>(hostPart), checkLatency),
  switch: partFile<Body<SwitchPart>>(switchPart),
  slot: partFile<Body<SlotPart>>(slotPart),
} satisfies { readonly [K in PartKind]: Shape<AnyBody> };
