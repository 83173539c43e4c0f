#include "drivers/modbus/profile_terms.hpp"

#include <stdexcept>

namespace shankwright::modbus {

const std::map<std::string, double>& units(Dimension dimension) {
  static const std::map<std::string, double> none{}, angle{{"deg", 1}}, temperature{{"degC", 1}},
      pressure{{"bar", 1}, {"MPa", 10}, {"kPa", 0.01}, {"Pa", 1e-5}, {"psi", 0.0689475729316836}},
      length{{"mm", 1}, {"um", 0.001}, {"in", 25.4}}, time{{"ms", 1}, {"s", 1000}};
  switch (dimension) {
    case Dimension::number:
      return none;
    case Dimension::angle:
      return angle;
    case Dimension::temperature:
      return temperature;
    case Dimension::pressure:
      return pressure;
    case Dimension::length:
      return length;
    case Dimension::time:
      return time;
  }
  throw std::logic_error("a dimension without units");
}

const char* name_of(Signal signal) {
  return signal_names[static_cast<std::size_t>(signal)].name;
}
const char* name_of(OrderField field) {
  return order_names[static_cast<std::size_t>(field)].name;
}
const char* status_bit_name(std::size_t bit) {
  return status_bit_names.at(bit);
}

}  // namespace shankwright::modbus
