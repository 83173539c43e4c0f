#include "label/data_matrix.hpp"

#include <zint.h>

#include <algorithm>
#include <memory>
#include <string>

#include "quantity/as_written.hpp"

namespace shankwright::label {

Result<DataMatrix> data_matrix(std::string_view text) {
  const bool printable =
      std::all_of(text.begin(), text.end(), [](char byte) { return byte >= 0x20 && byte < 0x7F; });
  if (text.empty() || !printable)
    return Problem{"Data Matrix", quantity::as_written(text), "letters, digits and signs of ASCII"};
  const std::unique_ptr<zint_symbol, void (*)(zint_symbol*)> symbol(ZBarcode_Create(), ZBarcode_Delete);
  if (!symbol) return Problem{"Data Matrix", "no memory", "room for a symbol"};
  symbol->symbology = BARCODE_DATAMATRIX;
  symbol->option_3 = DM_SQUARE;
  const int outcome = ZBarcode_Encode(symbol.get(), reinterpret_cast<const unsigned char*>(text.data()),
                                      static_cast<int>(text.size()));
  if (outcome >= ZINT_ERROR || symbol->rows <= 0 || symbol->rows != symbol->width)
    return Problem{"Data Matrix", std::to_string(text.size()) + " characters: " + symbol->errtxt,
                   "a text that fits into one symbol"};
  DataMatrix out;
  out.side = static_cast<std::size_t>(symbol->rows);
  for (std::size_t row = 0; row < out.side; ++row)
    for (std::size_t column = 0; column < out.side; ++column)
      out.dark.push_back(((symbol->encoded_data[row][column / 8] >> (column % 8)) & 1) != 0);
  return out;
}

}  // namespace shankwright::label
