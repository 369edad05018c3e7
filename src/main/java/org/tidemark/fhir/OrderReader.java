package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.programme.Variation;

/** What an order that another system drafts asks for, as far as it says so yet. */
public final class OrderReader {
  private static final Set<String> EXERCISE =
      Set.of(Codes.SNOMED_THERAPEUTIC_EXERCISE, Codes.SNOMED_PHYSICAL_THERAPY);

  private OrderReader() {}

  /**
   * Whether it orders exercise: by one of our codes, by 51998003 or 91251008 of SNOMED CT, or
   * because it has a setting or a dose of ours. An order not to do something is none.
   */
  public static boolean ordersExercise(ServiceRequest order) {
    boolean coded = order.getCode().getCoding().stream().anyMatch(OrderReader::isExercise);
    boolean set = order.hasExtension(Codes.SETTING) || order.hasExtension(Codes.DOSE);
    return (coded || set) && !order.getDoNotPerform();
  }

  private static boolean isExercise(Coding coding) {
    return Codes.EXERCISE_VARIATION.equals(coding.getSystem())
        || (Codes.SNOMED.equals(coding.getSystem()) && EXERCISE.contains(coding.getCode()));
  }

  /** The exercise of a programme that it names; empty when it names none of them. */
  public static Optional<Variation> variation(ServiceRequest order, Programme programme) {
    return order.getCode().getCoding().stream()
        .filter(coding -> Codes.EXERCISE_VARIATION.equals(coding.getSystem()))
        .flatMap(coding -> programme.variation(coding.getCode()).stream())
        .findFirst();
  }

  /**
   * Whether it may be for a side: it names that side, or none.
   *
   * @throws Problem when one body site names both sides
   */
  public static boolean mayBeFor(Side side, ServiceRequest order) {
    List<CodeableConcept> sites = order.getBodySite();
    List<Side> named =
        sites.stream().flatMap(site -> Sides.of(site, "ServiceRequest.bodySite").stream()).toList();
    return named.isEmpty() || named.contains(side);
  }
}
