package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.Comparator;
import java.util.List;
import java.util.stream.Collectors;
import org.tidemark.quantity.Unit;

/**
 * An item that reports can hold, as it is told to those who send it.
 *
 * @param system its code system
 * @param code its code
 * @param places the reports that may hold it
 * @param answer how it is answered
 * @param limits what is accepted, both ends included
 * @param taken an answer that is taken
 * @param refused an answer that is refused; empty when no answer of this kind is
 * @param why why the limits are where they are
 */
public record AcceptedItem(
    String system,
    String code,
    String places,
    String answer,
    String limits,
    String taken,
    String refused,
    String why) {

  /** Every item, by system and code. */
  public static List<AcceptedItem> all() {
    return Item.all()
        .sorted(Comparator.comparing(Item::system).thenComparing(Item::code))
        .map(AcceptedItem::of)
        .toList();
  }

  private static AcceptedItem of(Item item) {
    String places =
        item.places().stream()
            .sorted()
            .map(place -> place == Item.Place.ALONE ? "alone" : place.code())
            .collect(Collectors.joining(", "));
    boolean amount =
        item.answer() == Item.Answer.AMOUNT || item.answer() == Item.Answer.OWNED_OR_AMOUNT;
    String limits =
        amount
            ? "%s to %s%s"
                .formatted(
                    amount(item, item.least()),
                    amount(item, item.most()),
                    item.step().signum() == 0 ? "" : ", in steps of " + plain(item.step()))
            : "";
    return new AcceptedItem(
        item.system(),
        item.code(),
        places,
        answer(item),
        limits,
        amount ? amount(item, item.most()) : word(item),
        amount ? amount(item, item.most().add(BigDecimal.ONE)) : "",
        amount ? item.why() : "");
  }

  private static String answer(Item item) {
    String unit =
        item.unit() == null || item.unit() == Unit.COUNT ? "count" : "UCUM " + item.unit().ucum();
    return switch (item.answer()) {
      case AMOUNT -> "Quantity, " + unit;
      case YES_NO -> "boolean";
      case OWNED -> "boolean, or a count: 0 is no";
      case OWNED_OR_AMOUNT -> "boolean, or a Quantity, " + unit;
      case CONTACT -> "boolean, or the gap that remains as a Quantity: 0 is contact";
      case EFFUSION -> "code of effusion: " + String.join(", ", Item.EFFUSION_GRADES);
    };
  }

  private static String word(Item item) {
    return item.answer() == Item.Answer.EFFUSION ? "1+" : "true";
  }

  private static String amount(Item item, BigDecimal value) {
    boolean plain = item.unit() == null || item.unit() == Unit.COUNT;
    return plain ? plain(value) : plain(value) + " " + item.unit().ucum();
  }

  private static String plain(BigDecimal value) {
    return value.stripTrailingZeros().toPlainString();
  }
}
