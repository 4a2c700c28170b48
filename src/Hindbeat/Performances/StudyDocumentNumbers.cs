using System.Text.Json;
using System.Text.Json.Serialization;

namespace Hindbeat.Performances;

/// <summary>
/// Writes a number with a fixed count of decimals: those that the figure can carry, so that a document is
/// readable and two of them can be compared by text. Reading takes a number as it is.
/// </summary>
internal abstract class Rounded(int decimals) : JsonConverter<double>
{
    public override double Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => reader.GetDouble();

    // Adding 0 turns a rounded −0 into 0.
    public override void Write(Utf8JsonWriter writer, double value, JsonSerializerOptions options) =>
        writer.WriteNumberValue(Math.Round(value, decimals) + 0.0);
}

/// <summary>Times: a microsecond, far below a sample.</summary>
internal sealed class Rounded6() : Rounded(6);

/// <summary>Ratios, tempi, probabilities.</summary>
internal sealed class Rounded4() : Rounded(4);

/// <summary>Milliseconds and decibels.</summary>
internal sealed class Rounded3() : Rounded(3);

internal sealed class Rounded3OrNull : JsonConverter<double?>
{
    private static readonly Rounded3 Number = new();

    public override double? Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        reader.TokenType == JsonTokenType.Null ? null : reader.GetDouble();

    public override void Write(Utf8JsonWriter writer, double? value, JsonSerializerOptions options)
    {
        if (value is { } number)
            Number.Write(writer, number, options);
        else
            writer.WriteNullValue();
    }
}

[JsonSourceGenerationOptions(
    PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase,
    WriteIndented = true,
    DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    RespectNullableAnnotations = true,
    RespectRequiredConstructorParameters = true)]
[JsonSerializable(typeof(StudyDocument))]
internal sealed partial class StudyDocumentJson : JsonSerializerContext;
