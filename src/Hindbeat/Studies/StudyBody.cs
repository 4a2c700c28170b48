using System.Text.Json;
using System.Text.Json.Serialization;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Studies;

/// <summary>
/// A study as the library stores it: JSON of every field at full precision, so that what comes back equals
/// what was saved. It follows the types of the layers, so a new figure is stored without a line here; fields
/// added later must have a default (an init property), or studies saved before would not load. For other
/// programs there is <see cref="StudyDocument"/>.
/// </summary>
internal static class StudyBody
{
    private static readonly JsonSerializerOptions Options = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        // Derived figures (half widths, texts) are computed again.
        IgnoreReadOnlyProperties = true,
        // Tuples have fields.
        IncludeFields = true,
        // An interval may be open to one side.
        NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
        RespectNullableAnnotations = true,
        RespectRequiredConstructorParameters = true,
        Converters =
        {
            new JsonStringEnumConverter(),
            new NumberConverter<AudioTime>(time => time.TotalSeconds, AudioTime.FromSeconds),
            new NumberConverter<Seconds>(length => length.Value, Seconds.Of),
            new NumberConverter<Bpm>(tempo => tempo.Value, Bpm.Of),
            new NumberConverter<Level>(level => level.Dbfs, Level.FromDbfs),
            new TextConverter<Fraction>(fraction => fraction.ToString(), Fraction.Parse),
            new TextConverter<Meter>(meter => meter.ToString(), Meter.Parse),
            new TextConverter<BarPosition>(place => $"{place.Bar}:{place.Beat}:{place.Within}", ParsePlace),
            new PulseConverter(),
            new PerformanceConverter(),
            new DoubtConverter(),
        },
    };

    public static string Write(Study study) => JsonSerializer.Serialize(study, Options);

    /// <exception cref="InputException">Damaged, or saved in a form that this version cannot read.</exception>
    public static Study Read(string body)
    {
        try
        {
            return JsonSerializer.Deserialize<Study>(body, Options)
                ?? throw new InputException("The stored study is empty.");
        }
        catch (Exception e) when (e is JsonException or FormatException or ArgumentException or NotSupportedException)
        {
            throw new InputException($"The stored study is damaged or from another version: {e.Message.ReplaceLineEndings(" ")}", e);
        }
    }

    private static BarPosition ParsePlace(string text)
    {
        string[] parts = text.Split(':');
        return parts.Length == 3
            && int.TryParse(parts[0], System.Globalization.CultureInfo.InvariantCulture, out int bar)
            && int.TryParse(parts[1], System.Globalization.CultureInfo.InvariantCulture, out int beat)
            ? new BarPosition(bar, beat, Fraction.Parse(parts[2]))
            : throw new FormatException($"'{text}' is not a written place.");
    }

    private sealed class NumberConverter<T>(Func<T, double> toNumber, Func<double, T> fromNumber) : JsonConverter<T>
    {
        public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => fromNumber(reader.GetDouble());

        public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) => writer.WriteNumberValue(toNumber(value));
    }

    private sealed class TextConverter<T>(Func<T, string> toText, Func<string, T> fromText) : JsonConverter<T>
    {
        public override T Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
            fromText(reader.GetString() ?? throw new JsonException("A text is missing."));

        public override void Write(Utf8JsonWriter writer, T value, JsonSerializerOptions options) => writer.WriteStringValue(toText(value));
    }

    private sealed record PulseFields(Meter Meter, double Confidence, PulseSource Source, Beat[] Beats)
    {
        public MeterChange[] Changes { get; init; } = [];
    }

    private sealed class PulseConverter : JsonConverter<Pulse>
    {
        public override Pulse Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            PulseFields fields = JsonSerializer.Deserialize<PulseFields>(ref reader, options)!;
            return new Pulse(fields.Meter, fields.Beats, fields.Confidence, fields.Source, fields.Changes);
        }

        public override void Write(Utf8JsonWriter writer, Pulse value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, new PulseFields(value.Meter, value.Confidence, value.Source, [.. value.Beats]) { Changes = [.. value.Changes] }, options);
    }

    private sealed record PerformanceFields(Pulse Pulse, Hit[] Hits);

    private sealed class PerformanceConverter : JsonConverter<Performance>
    {
        public override Performance Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
        {
            PerformanceFields fields = JsonSerializer.Deserialize<PerformanceFields>(ref reader, options)!;
            return new Performance(fields.Pulse, fields.Hits);
        }

        public override void Write(Utf8JsonWriter writer, Performance value, JsonSerializerOptions options) =>
            JsonSerializer.Serialize(writer, new PerformanceFields(value.Pulse, [.. value.Hits]), options);
    }
}
