package org.tidemark.application;

import com.fasterxml.jackson.annotation.JsonAutoDetect.Visibility;
import com.fasterxml.jackson.annotation.JsonSubTypes;
import com.fasterxml.jackson.annotation.JsonTypeInfo;
import com.fasterxml.jackson.annotation.PropertyAccessor;
import com.fasterxml.jackson.core.JsonProcessingException;
import com.fasterxml.jackson.databind.DeserializationFeature;
import com.fasterxml.jackson.databind.MapperFeature;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.SerializationFeature;
import com.fasterxml.jackson.databind.json.JsonMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import com.fasterxml.jackson.datatype.jdk8.Jdk8Module;
import com.fasterxml.jackson.datatype.jsr310.JavaTimeModule;
import java.util.Collections;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.Optional;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.PlanState;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.store.StoredFact;

/**
 * Turns facts and folded plans into the text that is kept, and back. What comes back equals what
 * went in.
 */
final class PlanCodec {
  /** So many states are kept read; each takes some tens of kilobytes. */
  private static final int MOST_STATES = 256;

  private static final String SOURCE = "source";

  @JsonTypeInfo(use = JsonTypeInfo.Id.NAME, property = "kind")
  @JsonSubTypes({
    @JsonSubTypes.Type(value = Amount.class, name = "amount"),
    @JsonSubTypes.Type(value = Grade.class, name = "grade"),
    @JsonSubTypes.Type(value = YesNo.class, name = "answer")
  })
  private interface ValueNames {}

  @JsonTypeInfo(use = JsonTypeInfo.Id.NAME, property = "fact")
  @JsonSubTypes({
    @JsonSubTypes.Type(value = Fact.Enrolled.class, name = "enrolled"),
    @JsonSubTypes.Type(value = Fact.BaselineTaken.class, name = "baseline"),
    @JsonSubTypes.Type(value = Fact.EquipmentListed.class, name = "equipment"),
    @JsonSubTypes.Type(value = Fact.PrecautionSet.class, name = "precaution"),
    @JsonSubTypes.Type(value = Fact.WarningRaised.class, name = "warning"),
    @JsonSubTypes.Type(value = Fact.Resumed.class, name = "resumed"),
    @JsonSubTypes.Type(value = Fact.SignedOff.class, name = "signed-off"),
    @JsonSubTypes.Type(value = Fact.Overridden.class, name = "overridden"),
    @JsonSubTypes.Type(value = Fact.TargetSet.class, name = "target-set"),
    @JsonSubTypes.Type(value = Fact.Held.class, name = "held"),
    @JsonSubTypes.Type(value = Fact.Measured.class, name = "measured"),
    @JsonSubTypes.Type(value = Fact.SessionDone.class, name = "session"),
    @JsonSubTypes.Type(value = Fact.MorningAfter.class, name = "morning"),
    @JsonSubTypes.Type(value = Fact.PainScored.class, name = "pain"),
    @JsonSubTypes.Type(value = Fact.CaughtUp.class, name = "caught-up")
  })
  private interface FactNames {}

  private static final ObjectMapper MAPPER =
      JsonMapper.builder()
          .addModule(new JavaTimeModule())
          .addModule(new Jdk8Module())
          .visibility(PropertyAccessor.ALL, Visibility.NONE)
          .visibility(PropertyAccessor.FIELD, Visibility.ANY)
          .visibility(PropertyAccessor.CREATOR, Visibility.ANY)
          .disable(SerializationFeature.WRITE_DATES_AS_TIMESTAMPS)
          .disable(DeserializationFeature.ADJUST_DATES_TO_CONTEXT_TIME_ZONE)
          .enable(SerializationFeature.ORDER_MAP_ENTRIES_BY_KEYS)
          .enable(MapperFeature.SORT_PROPERTIES_ALPHABETICALLY)
          .enable(com.fasterxml.jackson.core.JsonGenerator.Feature.WRITE_BIGDECIMAL_AS_PLAIN)
          .addMixIn(Value.class, ValueNames.class)
          .addMixIn(Fact.class, FactNames.class)
          .build();

  /**
   * States by their text: a request reads its plan several times, and the next one about the same
   * person what this one has written. A state never changes, so that it can be shared.
   */
  private static final Map<String, PlanState> STATES =
      Collections.synchronizedMap(
          new LinkedHashMap<>(16, 0.75f, true) {
            private static final long serialVersionUID = 1L;

            @Override
            protected boolean removeEldestEntry(Map.Entry<String, PlanState> eldest) {
              return size() > MOST_STATES;
            }
          });

  private PlanCodec() {}

  static String state(PlanState state) {
    String text = write(state);
    STATES.put(text, state);
    return text;
  }

  static PlanState state(String text) {
    PlanState known = STATES.get(text);
    if (known == null) {
      known = read(text, PlanState.class);
      STATES.put(text, known);
    }
    return known;
  }

  static String issued(Issued issued) {
    return write(issued);
  }

  static Issued issued(String text) {
    return read(text, Issued.class);
  }

  /**
   * A fact as it is kept.
   *
   * @param ordinal which of the things its record says, from 0
   * @param arrivedMs when it is taken in
   */
  static StoredFact fact(Fact fact, int ordinal, long arrivedMs) {
    try {
      ObjectNode node =
          (ObjectNode) MAPPER.readTree(MAPPER.writerFor(Fact.class).writeValueAsString(fact));
      node.remove(SOURCE);
      FactSource source = fact.source();
      return new StoredFact(
          source.type(),
          source.id(),
          ordinal,
          source.version(),
          fact.at().toInstant().toEpochMilli(),
          arrivedMs,
          node.toString());
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("a fact cannot be written", e);
    }
  }

  static Fact fact(StoredFact stored) {
    try {
      ObjectNode node = (ObjectNode) MAPPER.readTree(stored.content());
      FactSource source =
          new FactSource(stored.sourceType(), stored.sourceId(), stored.sourceVersion());
      node.set(SOURCE, MAPPER.valueToTree(source));
      return MAPPER.treeToValue(node, Fact.class);
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("a fact cannot be read back", e);
    }
  }

  /**
   * A fact as another clinic kept it, as it is kept here.
   *
   * @param foreign the fact; its time is told by its content
   * @return empty when it cannot be read
   */
  static Optional<StoredFact> told(StoredFact foreign) {
    try {
      return Optional.of(fact(fact(foreign), foreign.ordinal(), foreign.arrivedMs()));
    } catch (RuntimeException unreadable) {
      return Optional.empty();
    }
  }

  /** What another clinic has issued, or empty when it cannot be read. */
  static Optional<Issued> toldIssued(String text) {
    try {
      return Optional.of(issued(text));
    } catch (RuntimeException unreadable) {
      return Optional.empty();
    }
  }

  private static String write(Object value) {
    try {
      return MAPPER.writeValueAsString(value);
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("a plan cannot be written", e);
    }
  }

  private static <T> T read(String text, Class<T> type) {
    try {
      return MAPPER.readValue(text, type);
    } catch (JsonProcessingException e) {
      throw new IllegalStateException("a plan cannot be read back", e);
    }
  }
}
