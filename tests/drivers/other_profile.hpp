#pragma once

namespace shankwright::test {

/// An invented press (demo data) that differs from the reference map in every way a profile can say: holding
/// registers for everything, other addresses and units, low word first, other numbers for phases and orders,
/// a status register with other and inverted bits, signals it does not have, samples packed to the end of
/// their block.
inline constexpr const char* other_profile = R"(profile: another press (demo data)
map_version: 7
word_order: low_word_first
read: {table: holding, function: 3}
signals:
  map_version:     {address: 219, type: u16}
  node_beat:       {address: 218, type: u16}
  phase:           {address: 217, type: u16, codes: {0: 0, 10: 1, 20: 2, 30: 3, 40: 4, 50: 5, 99: 6}}
  fault_code:      {address: 216, type: u16}
  status:
    address: 215
    type: u16
    bits: {emergency_circuit_healthy: 15, guard_closed: not 14, both_hands_on: 13, pump_running: 12, dies_home: 11,
           dies_closed: 10, shank_present: never, mark_seen: never, remote_selected: 3, mark_sensor_fitted: never,
           angle_encoder_fitted: always, position_sensor_fitted: never}
  die_tag:         {constant: 0}
  angle:           {address: 213, type: i32, scale: 0.001, unit: deg}
  oil_temperature: {constant: 40}
  pressure:        {address: 211, type: u32, scale: 1, unit: kPa}
  gap:             {address: 209, type: u32, scale: 1, unit: um, beyond_range: 4294967295}
  edge_distance:   {address: 207, type: i32, scale: 0.5, unit: um, word_order: high_word_first}
  permit_echo:     {address: 206, type: u16}
  permit_state:    {address: 205, type: u16}
  bite_number:     {address: 204, type: u16}
  stroke_total:    {address: 202, type: u32}
  peak_pressure:   {address: 201, type: u16, scale: 0.02, unit: MPa}
  dwell_done:      {address: 200, type: u16, scale: 0.01, unit: s}
  least_gap:       {address: 199, type: u16, scale: 0.0001, unit: in, beyond_range: 65535}
  newest_sample:   {address: 198, type: u16}
  sample_count:    {address: 197, type: u16}
  sample_bite:     {address: 196, type: u16}
  refusal:         {address: 195, type: u16}
samples:
  address: 120
  count: 15
  registers_each: 5
  period: {value: 0.004, unit: s}
  packing: last
  time:            {offset: 4, type: u16, scale: 1, unit: ms}
  pressure:        {offset: 0, type: u32, scale: 1, unit: kPa}
  gap:             {offset: 2, type: u32, scale: 1, unit: um, beyond_range: 4294967295}
station_beat:      {address: 320, type: u16, function: 16}
order:
  function: 16
  read_back_function: 3
  fields:
    order:             {address: 300, type: u16, codes: {17: 1, 18: 2, 19: 3, 20: 4}}
    target_pressure:   {address: 301, type: u32, scale: 1, unit: kPa}
    pressure_limit:    {address: 303, type: u32, scale: 1, unit: kPa}
    dwell:             {address: 305, type: u16, scale: 0.01, unit: s}
    closed_gap:        {address: 306, type: u16, scale: 1, unit: um}
    stroke_timeout:    {address: 307, type: u16, scale: 1, unit: ms}
    permit_life:       {address: 308, type: u16, scale: 1, unit: ms}
    expected_die_tag:  {address: 309, type: u16}
    order_token:       {address: 311, type: u16}
)";

}  // namespace shankwright::test
