package org.tidemark.fhir;

import java.util.List;
import org.hl7.fhir.convertors.factory.VersionConvertorFactory_40_50;
import org.hl7.fhir.exceptions.FHIRException;
import org.hl7.fhir.r4.model.Base;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.Enumeration;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Property;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Type;
import org.hl7.fhir.r5.model.DataType;
import org.hl7.fhir.r5.model.DocumentReference.DocumentReferenceContentComponent;
import org.hl7.fhir.r5.model.DomainResource;
import org.hl7.fhir.r5.model.Element;
import org.hl7.fhir.r5.model.Extension;

/**
 * Tells a plan and its parts in FHIR R5. HAPI's converter drops a few elements; those go where R5
 * has a place for them, or into the extensions that FHIR defines for elements of another version.
 */
public final class InR5 {
  /** The types that lose nothing. */
  public static final List<String> TYPES =
      List.of(
          "Patient",
          "Condition",
          "CarePlan",
          "Goal",
          "ServiceRequest",
          "Observation",
          "Flag",
          "Task",
          "Provenance",
          "GuidanceResponse",
          "RiskAssessment",
          "DocumentReference",
          "Binary");

  /** R4's elements as extensions (FHIR R5, section 2.1.5.1.1, Extensions for converting). */
  private static final String R4_ELEMENT = "http://hl7.org/fhir/4.0/StructureDefinition/extension-";

  private InR5() {}

  /**
   * A record of one of the types, a Bundle of such, or an OperationOutcome, in R5.
   *
   * @throws Problem when it holds data of a type that R5 does not know
   */
  public static org.hl7.fhir.r5.model.Resource of(Resource inR4) {
    org.hl7.fhir.r5.model.Resource inR5 = converted(inR4);
    if (inR4 instanceof Bundle bundle) {
      for (int i = 0; i < bundle.getEntry().size(); i++) {
        complete(
            bundle.getEntry().get(i).getResource(),
            ((org.hl7.fhir.r5.model.Bundle) inR5).getEntry().get(i).getResource());
      }
    } else {
      complete(inR4, inR5);
    }
    return inR5;
  }

  private static org.hl7.fhir.r5.model.Resource converted(Resource inR4) {
    try {
      return VersionConvertorFactory_40_50.convertResource(inR4);
    } catch (FHIRException unknown) {
      throw Problem.of(
          Problem.Kind.UNSUPPORTED,
          "A record here cannot be told in R5, as it holds data of a type that R5 does not know.",
          inR4.fhirType());
    }
  }

  private static void complete(Resource inR4, org.hl7.fhir.r5.model.Resource inR5) {
    if (inR4 instanceof CarePlan plan) {
      complete(plan, (org.hl7.fhir.r5.model.CarePlan) inR5);
    } else if (inR4 instanceof Goal goal && goal.hasExpressedBy()) {
      ((org.hl7.fhir.r5.model.Goal) inR5)
          .setSource((org.hl7.fhir.r5.model.Reference) inR5(goal.getExpressedBy()));
    } else if (inR4 instanceof DocumentReference document) {
      complete(document, (org.hl7.fhir.r5.model.DocumentReference) inR5);
    }
    if (inR4 instanceof org.hl7.fhir.r4.model.DomainResource whole) {
      for (int i = 0; i < whole.getContained().size(); i++) {
        complete(whole.getContained().get(i), ((DomainResource) inR5).getContained().get(i));
      }
    }
  }

  /** R5 knows no activity but by reference. */
  private static void complete(CarePlan inR4, org.hl7.fhir.r5.model.CarePlan inR5) {
    for (int i = 0; i < inR4.getActivity().size(); i++) {
      CarePlan.CarePlanActivityComponent activity = inR4.getActivity().get(i);
      if (activity.hasDetail()) {
        keep(
            inR5.getActivity().get(i),
            R4_ELEMENT + "CarePlan.activity.detail",
            activity.getDetail());
      }
    }
  }

  private static void complete(
      DocumentReference inR4, org.hl7.fhir.r5.model.DocumentReference inR5) {
    for (int i = 0; i < inR4.getContent().size(); i++) {
      if (inR4.getContent().get(i).hasFormat()) {
        DocumentReferenceContentComponent content = inR5.getContent().get(i);
        content.addProfile().setValue(inR5(inR4.getContent().get(i).getFormat()));
      }
    }
    String context = R4_ELEMENT + "DocumentReference.context.";
    if (inR4.getContext().hasSourcePatientInfo()) {
      inR5.addExtension(
          context + "sourcePatientInfo", inR5(inR4.getContext().getSourcePatientInfo()));
    }
    inR4.getContext()
        .getRelated()
        .forEach(related -> inR5.addExtension(context + "related", inR5(related)));
  }

  /** Keeps all that an element of R4 holds, one part for each of its own elements. */
  private static void keep(Element at, String url, Base element) {
    Extension whole = at.addExtension().setUrl(url);
    for (Property property : element.children()) {
      for (Base value : property.getValues()) {
        if (value instanceof org.hl7.fhir.r4.model.Extension extension) {
          whole.addExtension((Extension) inR5(extension));
        } else {
          whole.addExtension(property.getName().replace("[x]", ""), inR5((Type) value));
        }
      }
    }
  }

  /** The converter knows a code of a list only where R5 has the same list. */
  private static DataType inR5(Type value) {
    return VersionConvertorFactory_40_50.convertType(
        value instanceof Enumeration<?> code ? new CodeType(code.getValueAsString()) : value);
  }
}
