/** Keys of heat and surroundings. */
import type { Policy } from '../case.ts';
import {
  type CarrierHeat,
  type Endurance,
  environmentClasses,
  type HotPart,
  loads,
  type Surroundings,
} from '../thermal.ts';
import { atMost } from './check-order.ts';
import { given } from './leaf.ts';
import { choiceRule, quantityRule } from './rules.ts';
import { flag, pause } from './scalars.ts';
import { checked, type Fields, list, named, object, optional, record, required } from './shape.ts';

const resistance = given(
  quantityRule('thermal resistance', 'a thermal resistance', { least: '0 K/W' }),
);
const temperature = given(quantityRule('temperature', 'a temperature', { above: '0 K' }));
const power = given(quantityRule('power', 'a power', { least: '0 W' }));

const hotPart = checked(
  object<HotPart>({
    power: required(power, 'Power of this part alone.'),
    to_frame: optional(resistance, "Junction to the module's frame, filler included."),
    to_air: optional(resistance, 'Junction to the air beside it, at the flow of the slot.'),
    junction_limit: required(temperature, 'Highest junction temperature of its maker.'),
    ceiling: optional(temperature, 'Highest junction temperature wanted.'),
  }),
  ({ ceiling, junction_limit: limit }, out) => {
    if (ceiling) atMost(['ceiling', ceiling], ['junction_limit', limit], out);
  },
);

/** Parts of a module whose temperature matters, by name. */
export const hotParts = named('part name', hotPart);

const classes = list(given(choiceRule(environmentClasses, 'a class')), environmentClasses.length);

export const enduranceFields: Fields<Endurance> = {
  withstands: optional(record(loads, 'load', flag), 'Whether each load is withstood.'),
  environment_class: optional(classes, 'Classes of ANSI/VITA 47 it is qualified to.'),
  hold_up: optional(pause, 'Longest loss of its supply it rides through.'),
};

export const surroundingsFields: Fields<Surroundings> = {
  card_edge: optional(temperature, 'Temperature of the cold wall at the card edge.'),
  inlet_air: optional(temperature, 'Temperature of the air where it enters.'),
  air_flow: optional(
    given(quantityRule('volume flow', 'a flow of air', { above: '0 m3/h' })),
    'Flow of air through this slot alone.',
  ),
  altitude: optional(
    given(quantityRule('length', 'an altitude', { least: '0 m', most: '11000 m' })),
    'Altitude above sea level, up to 11 km.',
  ),
  environment: optional(
    list(given(choiceRule(loads, 'a load')), loads.length),
    'Loads that boards meet there.',
  ),
  environment_class: optional(classes, 'Classes of ANSI/VITA 47 asked for there.'),
  supply_dip: optional(pause, 'Longest loss of its supply that reaches the slot.'),
};

export const carrierHeatFields: Fields<CarrierHeat> = {
  own_power: optional(power, 'Power it draws with its sites empty.'),
  converter_efficiency: optional(
    given(quantityRule('fraction', 'an efficiency', { above: '0 %', most: '100 %' })),
    'Efficiency of the converters that feed the sites.',
  ),
  wedge_locks: optional(resistance, 'Card edge to cold wall, both wedge locks together.'),
};

/** Margins of a case. */
export const policy = object<Policy>({
  junction_margin: optional(
    given(quantityRule('temperature difference', 'a margin', { least: '0 K' })),
    'How far below its limit a junction stays; 20 K when absent.',
  ),
  connector_current: optional(
    given(quantityRule('fraction', 'a share', { above: '0 %', most: '100 %' })),
    "Share of a connector's rated current that is used; 70 % when absent.",
  ),
});
