#include "libsim/kernel/names.hpp"

#include <gtest/gtest.h>

#include "libsim/kernel/time.hpp"

namespace farrowtide {
namespace {

enum class Metal { iron, lead = 1, fools_gold };
constexpr auto names(Metal) {
  return std::to_array<Name<Metal>>(
      {{Metal::iron, "iron"}, {Metal::lead, "lead"}, {Metal::fools_gold, "pyrite", "the gold of fools"}});
}

enum class Address : unsigned { house = 2, street = 40, town = 41 };
constexpr auto names(Address) { return names_by_identifier<Address, 64>(); }

class Press {
 public:
  static std::size_t sizes();

 private:
  enum class Size { small, large };
  friend constexpr auto names(Size) {
    return std::to_array<Name<Size>>({{Size::small, "small"}, {Size::large, "large"}});
  }
};
std::size_t Press::sizes() { return NameTable<Size>::size; }

TEST(Names, LeadFromAValueToItsNameAndBack) {
  for (const Name<Metal>& row : NameTable<Metal>::rows) {
    EXPECT_EQ(name_of(row.value), row.name);
    EXPECT_EQ(value_named<Metal>(row.name), row.value);
  }
  EXPECT_EQ(value_named<Metal>("fools_gold"), std::nullopt) << "the identifier is not the name";
  EXPECT_EQ(NameTable<Metal>::all[2], "pyrite");
}

TEST(Names, AreTheLabelsWhereNoOtherIsGiven) {
  EXPECT_EQ(label_of(Metal::lead), "lead");
  EXPECT_EQ(label_of(Metal::fools_gold), "the gold of fools");
}

TEST(Names, AreRefusedOfANumberThatIsNoValue) { EXPECT_THROW(name_of(static_cast<Metal>(3)), std::out_of_range); }

TEST(Names, MayBelongToAPrivateEnum) { EXPECT_EQ(Press::sizes(), 2U); }

TEST(Identifiers, TellEnumeratorsFromOtherNumbers) {
  EXPECT_EQ(identifier<Metal::fools_gold>(), "fools_gold");
  EXPECT_EQ(identifier<Order::record>(), "record");
  EXPECT_EQ(identifier<static_cast<Metal>(3)>(), "");
}

TEST(Identifiers, NameAnEnumWithGaps) {
  const auto rows = names(Address{});
  ASSERT_EQ(rows.size(), 3U);
  EXPECT_EQ(rows[0].value, Address::house);
  EXPECT_EQ(rows[0].name, "house");
  EXPECT_EQ(rows[1].value, Address::street);
  EXPECT_EQ(rows[2].name, "town");
}

}  // namespace
}  // namespace farrowtide
