// SPDX-License-Identifier: BSD-3-Clause

import static jdk.incubator.foreign.CLinker.C_DOUBLE;
import static jdk.incubator.foreign.CLinker.C_INT;
import static jdk.incubator.foreign.CLinker.C_LONG;
import static jdk.incubator.foreign.CLinker.C_POINTER;

import java.lang.invoke.MethodHandle;
import java.lang.invoke.MethodType;
import java.util.Arrays;
import jdk.incubator.foreign.CLinker;
import jdk.incubator.foreign.FunctionDescriptor;
import jdk.incubator.foreign.MemoryAccess;
import jdk.incubator.foreign.MemoryAddress;
import jdk.incubator.foreign.MemoryLayout;
import jdk.incubator.foreign.MemorySegment;
import jdk.incubator.foreign.ResourceScope;
import jdk.incubator.foreign.SymbolLookup;

/**
 * A planner in Java that loads the C library by itself, without glue code: relax the rim on day 20, or leave it?
 *
 * <pre>java --add-modules jdk.incubator.foreign --enable-native-access=ALL-UNNAMED Planner.java libcapsim_c.so</pre>
 *
 * With the foreign-function interface as Java 17 has it; later versions have it as java.lang.foreign, with other names.
 * Wrong input is refused with every violation; a loss has its band of eyes like it; two futures fork from one past. The
 * eye is invented, and so are its numbers. For research and teaching, not for treating a patient.
 */
public class Planner {
  static final int OK = 0, INVALID_SCENARIO = -7, LINE = 4;
  static final String EYE = "{\"format\": \"capsim-scenario\", \"version\": 1, \"name\": \"invented\","
      + " \"duration_days\": 40, \"output_every_days\": 20, \"mesh\": {\"level\": \"coarse\"}}";
  static final ResourceScope memory = ResourceScope.globalScope();

  /** Calls capsim_NAME; the kinds of its arguments are those of the values, its result is `result` (null: nothing). */
  static Object call(Class<?> result, String name, Object... values) {
    Class<?>[] types = new Class<?>[values.length];
    MemoryLayout[] layouts = new MemoryLayout[values.length];
    Object[] given = new Object[values.length];
    for (int k = 0; k < values.length; ++k) {
      Object value = values[k];
      if (value instanceof String text) value = CLinker.toCString(text, memory).address();
      if (value instanceof MemorySegment segment) value = segment.address();
      types[k] = kind(value);
      layouts[k] = layout(types[k]);
      given[k] = value;
    }
    MethodType type = MethodType.methodType(result == null ? void.class : result, types);
    FunctionDescriptor form =
        result == null ? FunctionDescriptor.ofVoid(layouts) : FunctionDescriptor.of(layout(result), layouts);
    try {
      MemoryAddress function = SymbolLookup.loaderLookup().lookup("capsim_" + name).orElseThrow();
      MethodHandle handle = CLinker.getInstance().downcallHandle(function, type, form);
      return handle.invokeWithArguments(given);
    } catch (Throwable error) {
      throw new IllegalStateException("capsim_" + name, error);
    }
  }

  static Class<?> kind(Object value) {
    if (value instanceof MemoryAddress) return MemoryAddress.class;
    return value instanceof Double ? double.class : value instanceof Long ? long.class : int.class;
  }

  static MemoryLayout layout(Class<?> type) {
    return type == double.class ? C_DOUBLE : type == long.class ? C_LONG : type == int.class ? C_INT : C_POINTER;
  }

  static MemoryAddress make(String kind) {
    return (MemoryAddress) call(MemoryAddress.class, kind + "_create");
  }

  static int status(String name, Object... values) {
    return (int) call(int.class, name, values);
  }

  static void must(String name, Object... values) {
    int status = status(name, values);
    if (status != OK) stop(name + ": " + textOf(call(MemoryAddress.class, "status_text", status)));
  }

  static void stop(String why) {
    System.err.println("planner: " + why);
    System.exit(1);
  }

  static String textOf(Object address) {
    return CLinker.toJavaString((MemoryAddress) address);
  }

  static double outcome(MemoryAddress history, String name) {
    MemorySegment value = MemorySegment.allocateNative(8, memory);
    must("history_outcome_value", history, name, value);
    return MemoryAccess.getDouble(value);
  }

  /** The loss that a tenth and nine tenths of eyes like this one stay below [%]. */
  static double[] band(MemoryAddress eye, int eyes) {
    MemoryAddress population = make("population"), other = make("scenario"), history = make("history");
    must("population_find", population, call(MemoryAddress.class, "population_name", 0L));
    MemorySegment losses = MemorySegment.allocateNative(8L * eyes, memory), value = MemorySegment.allocateNative(8, memory);
    for (int k = 0; k < eyes; ++k) {
      must("population_around", population, eye, (long) k, other);
      must("simulate", other, MemoryAddress.NULL, history);
      MemoryAccess.setDoubleAtIndex(losses, k, outcome(history, "area_loss_percent"));
    }
    double[] found = new double[2];
    for (int k = 0; k < 2; ++k) {
      must("quantile", losses, (long) eyes, k == 0 ? 0.1 : 0.9, value);
      found[k] = MemoryAccess.getDouble(value);
    }
    call(null, "history_destroy", history);
    call(null, "scenario_destroy", other);
    call(null, "population_destroy", population);
    return found;
  }

  /** The area on the last day of a fork, with or without cuts at 12 and 6 o'clock [mm2]. */
  static double future(MemoryAddress past, MemorySegment hours, boolean cut) {
    MemoryAddress fork = (MemoryAddress) call(MemoryAddress.class, "simulation_fork", past);
    if (cut) must("simulation_cut", fork, hours, 2L, 0.5);
    must("simulation_advance_to", fork, 40.0, MemoryAddress.NULL);
    MemorySegment area = MemorySegment.allocateNative(8, memory);
    must("simulation_opening_area_mm2", fork, area);
    call(null, "simulation_destroy", fork);
    return MemoryAccess.getDouble(area);
  }

  public static void main(String[] arguments) {
    System.load(java.nio.file.Path.of(arguments[0]).toAbsolutePath().toString());
    if ((int) call(int.class, "c_api") != 1) stop("the library has another interface than this program");
    MemoryAddress eye = make("scenario"), history = make("history"), past = make("simulation");
    must("scenario_read_json", eye, EYE, (long) EYE.length());
    must("simulate", eye, MemoryAddress.NULL, history);
    if (arguments.length > 1 && arguments[1].equals("--digits")) {  // for a comparison with other languages
      System.out.println(outcome(history, "opening_area_mm2"));
      return;
    }
    System.out.println("capsim " + textOf(call(MemoryAddress.class, "version")));
    System.out.println(textOf(call(MemoryAddress.class, "research_caution")));

    must("scenario_set_number", eye, "opening.diameter_mm", -5.0);
    if (status("scenario_check", eye) != INVALID_SCENARIO) stop("wrong input was accepted");
    MemorySegment line = MemorySegment.allocateNative(512, memory);
    must("scenario_violation", eye, 0L, LINE, line, 512L, MemoryAddress.NULL);
    System.out.println("refused: " + textOf(line.address()));
    must("scenario_set_number", eye, "opening.diameter_mm", 5.0);

    double[] band = band(eye, 6);
    double loss = outcome(history, "area_loss_percent");
    System.out.printf("lost by day 40: %.2f %% (eyes like it: %.2f to %.2f)%n", loss, band[0], band[1]);
    if (!(band[0] < band[1])) stop("the band has no width");

    MemorySegment hours = MemorySegment.allocateNative(16, memory);
    MemoryAccess.setDoubleAtIndex(hours, 0, 12);
    MemoryAccess.setDoubleAtIndex(hours, 1, 6);
    must("simulation_foresee_cuts", past, hours, 2L, 0.5);
    must("simulation_start", past, eye);
    must("simulation_advance_to", past, 20.0, MemoryAddress.NULL);
    double cut = future(past, hours, true), left = future(past, hours, false);
    System.out.printf("area on day 40: %.2f mm2 when cut on day 20, %.2f mm2 when not%n", cut, left);
    if (!(cut > left)) stop("cuts have opened nothing");
    System.out.println(textOf(call(MemoryAddress.class, "relaxing_cut_caution")));
    for (String kind : Arrays.asList("simulation", "history", "scenario"))
      call(null, kind + "_destroy", kind.equals("simulation") ? past : kind.equals("history") ? history : eye);
  }
}
