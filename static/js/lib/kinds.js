/* What kinds of instrument there are, in the order in which they are offered. */
export const KINDS = ['transmitter', 'sensing_element', 'indicator', 'switch', 'analyser', 'control_valve'];
