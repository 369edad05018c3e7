package org.tidemark.recordsystem;

import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r4.model.CapabilityStatement.RestfulCapabilityMode;
import org.hl7.fhir.r4.model.CapabilityStatement.SystemRestfulInteraction;
import org.hl7.fhir.r4.model.CapabilityStatement.TypeRestfulInteraction;

/**
 * What a record system says that it can do.
 *
 * @param transactions whether it takes transactions
 * @param types the types of which it creates records
 */
record Statement(boolean transactions, Set<String> types) {
  static Statement of(CapabilityStatement statement) {
    return statement.getRest().stream()
        .filter(rest -> rest.getMode() == RestfulCapabilityMode.SERVER)
        .findFirst()
        .map(Statement::of)
        .orElse(new Statement(false, Set.of()));
  }

  private static Statement of(CapabilityStatementRestComponent rest) {
    return new Statement(
        rest.getInteraction().stream()
            .anyMatch(can -> can.getCode() == SystemRestfulInteraction.TRANSACTION),
        rest.getResource().stream()
            .filter(Statement::creates)
            .map(CapabilityStatementRestResourceComponent::getType)
            .collect(Collectors.toSet()));
  }

  private static boolean creates(CapabilityStatementRestResourceComponent resource) {
    return resource.getInteraction().stream()
        .anyMatch(can -> can.getCode() == TypeRestfulInteraction.CREATE);
  }
}
