package org.tidemark.decision;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.IntStream;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;
import org.tidemark.response.Session;

/**
 * Two records that give different answers to one question about one moment. Both are kept, and the
 * order of facts says which counts; a clinician is told, as one of them must be wrong.
 *
 * @param fact what came to be known
 * @param other what was known before
 */
public record Contradiction(Fact fact, Fact other) {

  /** Whether two facts are of one moment, from different records, and cannot both be right. */
  public static boolean between(Fact fact, Fact other) {
    boolean sameRecord =
        fact.source().type().equals(other.source().type())
            && fact.source().id().equals(other.source().id());
    return !sameRecord && fact.at().isEqual(other.at()) && differ(fact, other);
  }

  private static boolean differ(Fact fact, Fact other) {
    if (fact instanceof Fact.Measured one && other instanceof Fact.Measured two) {
      return one.item().equals(two.item()) && differ(one.amount(), two.amount());
    }
    if (fact instanceof Fact.PainScored one && other instanceof Fact.PainScored two) {
      return one.pain().compareTo(two.pain()) != 0;
    }
    if (fact instanceof Fact.MorningAfter one && other instanceof Fact.MorningAfter two) {
      return differ(answers(one.morning()), answers(two.morning()));
    }
    if (fact instanceof Fact.SessionDone one && other instanceof Fact.SessionDone two) {
      return one.session().done().equals(two.session().done())
          && one.session().settings().equals(two.session().settings())
          && differ(answers(one.session()), answers(two.session()));
    }
    if (fact instanceof Fact.BaselineTaken one && other instanceof Fact.BaselineTaken two) {
      return differ(one.items(), two.items());
    }
    return false;
  }

  private static List<Optional<?>> answers(Morning morning) {
    return List.of(
        morning.pain(),
        morning.stiffnessMinutes(),
        morning.moreSwollen(),
        morning.wouldRepeat(),
        morning.effusion());
  }

  private static List<Optional<?>> answers(Session session) {
    return List.of(
        session.sets(),
        session.repetitions(),
        session.timeSeconds(),
        session.contact(),
        session.during(),
        session.after(),
        session.effort(),
        session.effusion());
  }

  /** Whether both answer a question, and not alike. */
  private static boolean differ(List<Optional<?>> answers, List<Optional<?>> others) {
    return IntStream.range(0, answers.size())
        .anyMatch(
            i ->
                answers.get(i).isPresent()
                    && others.get(i).isPresent()
                    && !answers.get(i).equals(others.get(i)));
  }

  private static boolean differ(Map<String, Value> items, Map<String, Value> others) {
    return items.entrySet().stream()
        .anyMatch(item -> others.containsKey(item.getKey()) && differ(item, others));
  }

  private static boolean differ(Map.Entry<String, Value> item, Map<String, Value> others) {
    Value other = others.get(item.getKey());
    return item.getValue() instanceof Amount one && other instanceof Amount two
        ? differ(one, two)
        : !item.getValue().equals(other);
  }

  private static boolean differ(Amount one, Amount two) {
    return one.unit() != two.unit() || one.compareTo(two) != 0;
  }
}
